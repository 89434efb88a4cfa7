"""Blobs: bytes kept by their SHA-256, durable before their name is given out."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol


class Blobs(Protocol):
    """Content-addressed store. Names are hex SHA-256 digests."""

    def put(self, data: bytes) -> str:
        """Store bytes durably and return their name. Raises StorageError."""
        ...

    def put_file(self, path: Path) -> str:
        """Store a file's bytes durably without loading it whole. Raises StorageError, NotFound."""
        ...

    def get(self, name: str) -> bytes:
        """The bytes, checked against the name. Raises NotFound, IntegrityError."""
        ...

    def path(self, name: str) -> Path:
        """Where the bytes lie, for programs that need a file. Raises NotFound."""
        ...

    def remove(self, name: str) -> None:
        """Delete the bytes, and copies that a killed process left, durably. Nothing happens when
        they are not here. Raises StorageError."""
        ...

    def has(self, name: str) -> bool:
        """True when the bytes are here."""
        ...
