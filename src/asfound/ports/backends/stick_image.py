"""A firmware image in a file of this computer."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path

from asfound.errors import NotFound, UsageError
from asfound.ports.backends.disk import storage_error

PIECE = 1 << 20


class FileImage:
    """The image at ``path``; ``stick``: where it is to go, and must not come from."""

    def __init__(self, path: Path, stick: Path) -> None:
        self._path = path
        self._stick = stick

    @property
    def name(self) -> str:
        """See Image."""
        return self._path.name

    def size(self) -> int:
        """See Image."""
        try:
            found = self._path.stat()
            inside = self._path.resolve().is_relative_to(self._stick.resolve())
        except FileNotFoundError:
            raise NotFound(f"{self._path}: there is no such file; name the image") from None
        except OSError as error:
            raise storage_error(error, self._path) from None
        if not stat.S_ISREG(found.st_mode):
            raise UsageError(f"{self._path}: is no file; name the image")
        if inside:
            raise UsageError(f"{self._path}: lies on the stick itself; name the original")
        if not found.st_size:
            raise UsageError(f"{self._path}: is empty; fetch the image again")
        return found.st_size

    def pieces(self) -> Iterator[bytes]:
        """See Image."""
        try:
            # A pipe put in the file's place must not hold us up for ever.
            handle = os.open(self._path, os.O_RDONLY | os.O_NONBLOCK)
            with os.fdopen(handle, "rb", buffering=0) as file:
                while piece := file.read(PIECE):
                    yield piece
        except OSError as error:
            raise storage_error(error, self._path) from None
