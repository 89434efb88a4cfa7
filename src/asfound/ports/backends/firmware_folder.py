"""Firmware images in a folder of this machine."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Sequence
from pathlib import Path

from asfound.errors import NotFound
from asfound.ports.backends.disk import storage_error
from asfound.ports.firmware_files import FileSeen


class FolderFiles:
    """The files directly inside ``folder``."""

    def __init__(self, folder: Path) -> None:
        """Nothing is opened yet."""
        self._folder = folder

    def listing(self) -> Sequence[FileSeen]:
        """What lies in the folder itself, by name; links are not followed."""
        if not self._folder.is_dir():
            raise NotFound(f"{self._folder}: there is no such folder; check the name")
        try:
            found = []
            for entry in os.scandir(self._folder):
                facts = entry.stat(follow_symlinks=False)
                plain = stat.S_ISREG(facts.st_mode)
                found.append(FileSeen(entry.name, facts.st_size if plain else None))
        except OSError as error:
            raise storage_error(error, self._folder) from None
        return sorted(found, key=lambda one: one.name)

    def sha256(self, name: str) -> str:
        """Read as it comes, so that size does not matter."""
        path = self._folder / name
        try:
            with path.open("rb") as file:
                return hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as error:
            raise storage_error(error, path) from None

    def content(self, name: str) -> bytes:
        """The whole file."""
        path = self._folder / name
        try:
            return path.read_bytes()
        except OSError as error:
            raise storage_error(error, path) from None
