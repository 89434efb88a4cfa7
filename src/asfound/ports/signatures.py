"""Signatures by Ed25519 (RFC 8032), and the one key that this home folder signs with.

Keys and signatures are raw bytes: 32 for a secret key (the seed) and a public key, 64 for a
signature, as RFC 8032 5.1.5 and 5.1.6 lay them out.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

KEY_BYTES = 32
SIGNATURE_BYTES = 64


@dataclass(frozen=True, slots=True)
class KeyPair:
    """A secret key, which is never shown, and the public one that belongs to it."""

    secret: bytes = field(repr=False)
    public: bytes


class Signatures(Protocol):
    """Signs and verifies."""

    def make(self) -> KeyPair:
        """A new key pair."""
        ...

    def pair(self, secret: bytes) -> KeyPair:
        """The pair of a secret key. Raises InputError when it is not 32 bytes long."""
        ...

    def sign(self, secret: bytes, message: bytes) -> bytes:
        """64 bytes. Raises InputError when the secret key is not 32 bytes long."""
        ...

    def verify(self, public: bytes, message: bytes, signature: bytes) -> bool:
        """Whether ``public`` signed ``message``; False for keys and signatures that are none."""
        ...


class Keys(Protocol):
    """Where a home folder's own key is kept."""

    def own(self) -> KeyPair:
        """The key, made at the first call and durable then. Raises StorageError, InputError."""
        ...
