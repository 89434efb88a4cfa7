"""Blobs that are kept in memory, for tests of jobs."""

from __future__ import annotations

import hashlib
from pathlib import Path

from asfound.errors import NotFound


class Memory:
    """Blobs in memory."""

    def __init__(self) -> None:
        self.kept: dict[str, bytes] = {}

    def put(self, data: bytes) -> str:
        name = hashlib.sha256(data).hexdigest()
        self.kept[name] = data
        return name

    def put_file(self, path: Path) -> str:
        return self.put(path.read_bytes())

    def get(self, name: str) -> bytes:
        return self.kept[name]

    def path(self, name: str) -> Path:
        raise NotFound(name)

    def remove(self, name: str) -> None:
        self.kept.pop(name, None)

    def has(self, name: str) -> bool:
        return name in self.kept
