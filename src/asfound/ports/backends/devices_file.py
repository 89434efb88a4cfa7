"""Paired devices and the server's secret in one small file, for its owner's eyes alone."""

from __future__ import annotations

import os
import secrets
import tempfile
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from asfound.errors import InputError
from asfound.model.device import Device
from asfound.ports.backends.disk import storage_error
from asfound.ports.documents import from_json, to_json

FORMAT = "asfound-devices/1"
SECRET_BYTES = 32


@dataclass(frozen=True, slots=True)
class _File:
    format: str
    secret: str
    devices: tuple[Device, ...] = ()


class FileDevices:
    """Paired devices in ``path``; the file is written whole, or stays as it was."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = threading.Lock()
        self._known: tuple[tuple[int, int], _File] | None = None

    def secret(self) -> bytes:
        """The server's own secret, made at the first call. Raises StorageError, InputError."""
        with self._lock:
            return bytes.fromhex(self._read().secret)

    def devices(self) -> Sequence[Device]:
        """All paired devices, oldest first. Raises StorageError, InputError."""
        with self._lock:
            return self._read().devices

    def add(self, device: Device) -> None:
        """Let a device in. Raises StorageError, InputError."""
        with self._lock:
            known = self._read()
            self._write(replace(known, devices=(*known.devices, device)))

    def drop(self, device_id: str) -> None:
        """Let a device in no more. Raises StorageError, InputError."""
        with self._lock:
            known = self._read()
            left = tuple(item for item in known.devices if item.id != device_id)
            if left != known.devices:
                self._write(replace(known, devices=left))

    def _read(self) -> _File:
        """The file as it is now; it is read again only when it has changed."""
        try:
            found = self._path.stat()
            stamp = (found.st_mtime_ns, found.st_size)
            if self._known is not None and self._known[0] == stamp:
                return self._known[1]
            text = self._path.read_bytes()
        except FileNotFoundError:
            return self._write(_File(FORMAT, secrets.token_hex(SECRET_BYTES)))
        except OSError as error:
            raise storage_error(error, self._path) from None
        made = from_json(_File, text, str(self._path))
        if made.format != FORMAT or len(made.secret) != 2 * SECRET_BYTES:
            raise InputError(
                f"{self._path}: is not {FORMAT}; delete it, and pair the devices again"
            )
        self._known = (stamp, made)
        return made

    def _write(self, made: _File) -> _File:
        folder = self._path.parent
        try:
            folder.mkdir(parents=True, exist_ok=True)
            # mkstemp makes files that only their owner can read.
            handle, name = tempfile.mkstemp(dir=folder, prefix=".devices-", suffix=".part")
            part = Path(name)
            try:
                with os.fdopen(handle, "wb") as stream:
                    stream.write(to_json(made).encode("utf-8"))
                    stream.flush()
                    os.fsync(stream.fileno())
                part.replace(self._path)
            except OSError:
                part.unlink(missing_ok=True)
                raise
        except OSError as error:
            raise storage_error(error, self._path) from None
        self._known = None
        return made
