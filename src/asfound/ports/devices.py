"""Paired devices, and the secret that this server signs with."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from asfound.model.device import Device


class Devices(Protocol):
    """Devices that were let in. Every write is durable when the call returns."""

    def secret(self) -> bytes:
        """The server's own secret, made at the first call. Raises StorageError, InputError."""
        ...

    def devices(self) -> Sequence[Device]:
        """All paired devices, oldest first. Raises StorageError, InputError."""
        ...

    def add(self, device: Device) -> None:
        """Let a device in. Raises StorageError, InputError."""
        ...

    def drop(self, device_id: str) -> None:
        """Let a device in no more; nothing happens when it is not known. Raises StorageError,
        InputError."""
        ...
