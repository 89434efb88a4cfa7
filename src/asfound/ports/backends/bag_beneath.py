"""Opening what lies in a folder, part by part, so that no part of the path can be a link.

A path opened in one go follows links in all its parts but, with O_NOFOLLOW, the last: a folder
that is swapped for a link between being listed and being opened would lead out. Here each
part is opened from the folder before it (POSIX.1-2017 openat; open(2), ELOOP and ENOTDIR), and
the top must be the folder that was looked at first.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

from asfound.errors import IntegrityError, NotFound, StorageError, UsageError
from asfound.ports.backends.disk import storage_error

FOLDER = os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW
# A pipe put in a file's place does not hold up who opens it.
FILE = os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK


class Beneath:
    """What lies below the folder ``top``, which itself must be none but a folder."""

    def __init__(self, top: Path) -> None:
        self._top = top
        self._is: tuple[int, int] | None = None

    def folder(self, name: str) -> int:
        """A handle of the folder ``name`` ("": the top), to be closed. Raises NotFound,
        UsageError, IntegrityError where a part is a link by now, StorageError."""
        handle = self._opened_top()
        for part in name.split("/") if name else ():
            try:
                inner = self._open(part, FOLDER, handle, name)
            finally:
                os.close(handle)
            handle = inner
        return handle

    def file(self, name: str) -> int:
        """A handle for reading the plain file ``name``, to be closed. Raises as ``folder``."""
        above, _, last = name.rpartition("/")
        folder = self.folder(above)
        try:
            handle = self._open(last, FILE, folder, name)
        finally:
            os.close(folder)
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            os.close(handle)
            raise self._swapped(name)
        return handle

    def _opened_top(self) -> int:
        try:
            handle = os.open(self._top, FOLDER)
        except FileNotFoundError:
            raise self._absent() from None
        except OSError as error:
            if self._top.is_symlink():
                raise UsageError(f"{self._top}: is a link; name the folder itself") from None
            if error.errno == errno.ENOTDIR:
                raise self._absent() from None
            raise storage_error(error, self._top) from None
        facts = os.fstat(handle)
        now = (facts.st_dev, facts.st_ino)
        if self._is not in (None, now):
            os.close(handle)
            raise self._swapped("")
        self._is = now
        return handle

    def _open(self, part: str, flags: int, folder: int, name: str) -> int:
        try:
            return os.open(part, flags, dir_fd=folder)
        except OSError as error:
            # With O_NOFOLLOW a link answers ELOOP, with O_DIRECTORY also ENOTDIR.
            if error.errno in (errno.ELOOP, errno.ENOTDIR):
                raise self._swapped(name) from None
            raise storage_error(error, self._top / name) from None

    def _swapped(self, name: str) -> IntegrityError:
        return IntegrityError(
            f"{self._top / name}: something else was put in its place while it was read; find out "
            "what writes to the bag, and run it again"
        )

    def _absent(self) -> NotFound | StorageError:
        if self._is is not None:
            return StorageError(f"{self._top}: has gone while it was read; put the disk in again")
        return NotFound(f"{self._top}: there is no such folder; name the bag's folder")
