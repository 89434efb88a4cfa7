"""Ed25519 by the cryptography package, and the home folder's key in a file for its owner alone."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from asfound.errors import InputError
from asfound.ports.backends.disk import storage_error
from asfound.ports.signatures import KEY_BYTES, KeyPair

MODE = 0o600


class Ed25519:
    """See ports.signatures.Signatures."""

    def make(self) -> KeyPair:
        """See Signatures."""
        return self.pair(Ed25519PrivateKey.generate().private_bytes_raw())

    def pair(self, secret: bytes) -> KeyPair:
        """See Signatures."""
        return KeyPair(secret, _private(secret).public_key().public_bytes_raw())

    def sign(self, secret: bytes, message: bytes) -> bytes:
        """See Signatures."""
        return _private(secret).sign(message)

    def verify(self, public: bytes, message: bytes, signature: bytes) -> bool:
        """See Signatures."""
        try:
            Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
        except (InvalidSignature, ValueError):
            return False
        return True


def _private(secret: bytes) -> Ed25519PrivateKey:
    if len(secret) != KEY_BYTES:
        raise InputError(f"a secret key has {KEY_BYTES} bytes, not {len(secret)}; take another")
    return Ed25519PrivateKey.from_private_bytes(secret)


class FileKeys:
    """The key in ``path`` as 64 hexadecimal figures and a line end; nobody else may read it."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def there(self) -> KeyPair | None:
        """The key; None while none was made. Raises StorageError, InputError."""
        return self.own() if self._path.exists() else None

    def own(self) -> KeyPair:
        """See ports.signatures.Keys."""
        try:
            if not self._path.exists():
                self._write(Ed25519().make().secret)
            if self._path.stat().st_mode & 0o077:
                raise InputError(
                    f"{self._path}: others may read this secret key; if nobody did, "
                    f"`chmod 600 {self._path}`, else delete it: the next signature makes a new one"
                )
            text = self._path.read_bytes()
        except OSError as error:
            raise storage_error(error, self._path) from None
        try:
            return Ed25519().pair(bytes.fromhex(text.decode("ascii")))
        except (ValueError, InputError):
            raise InputError(
                f"{self._path}: is no secret key of {2 * KEY_BYTES} hexadecimal figures; bring "
                "the file back from a copy, or delete it: the next signature makes a new one"
            ) from None

    def _write(self, secret: bytes) -> None:
        """Durable and whole before it has its name; a key that came meanwhile stays."""
        folder = self._path.parent
        folder.mkdir(parents=True, exist_ok=True)
        # mkstemp makes files with mode 0600.
        handle, name = tempfile.mkstemp(dir=folder, prefix=".key-", suffix=".part")
        part = Path(name)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(secret.hex().encode("ascii") + b"\n")
                stream.flush()
                os.fsync(stream.fileno())
            with suppress(FileExistsError):
                self._path.hardlink_to(part)
        finally:
            part.unlink(missing_ok=True)
