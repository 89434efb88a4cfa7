"""Free space of a mounted file system: a folder of ours with numbered files, read past the cache.

The folder is held open and every file is reached through it without following links, so nothing
that is put in its place meanwhile is touched. A lock tells whether an earlier test still runs; a
killed one leaves its files, and no lock.
"""

from __future__ import annotations

import ctypes
import errno
import fcntl
import mmap
import os
import re
from contextlib import suppress
from pathlib import Path

from asfound.calc.drive_places import Extent
from asfound.errors import NotFound, StorageError, UsageError
from asfound.ports.backends.disk import storage_error
from asfound.ports.backends.file_extents import file_extents
from asfound.ports.drive_space import Cleared, DriveRefused, Past, Space, Why

FOLDER = "asfound-drive-test"
LOCK = "lock"
NAME = re.compile(r"\d{6}\.asfound-test")
MODE = 0o600
KEEP_SIZE = 1
"""FALLOC_FL_KEEP_SIZE of linux/falloc.h: room is kept, the file does not grow, nothing is
written."""
FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
DIRECT: int = getattr(os, "O_DIRECT", 0)


class DiskSpace:
    """The free space of the file system at ``path``, a folder that is there."""

    def __init__(self, path: Path) -> None:
        if not path.exists():
            raise NotFound(f"{path}: there is no such folder; name where the drive is mounted")
        if not path.is_dir():
            raise UsageError(f"{path}: is no folder; name where the drive is mounted")
        self._path = path
        self._folder = -1
        self._lock = -1
        self._open: dict[int, int] = {}
        self._kept: set[int] = set()
        self._past = Past.UNSURE
        self._direct = bool(DIRECT)
        self._buffer = mmap.mmap(-1, 1 << 20)

    @property
    def past(self) -> Past:
        """See DriveSpace."""
        return self._past

    def begin(self) -> Cleared:
        """See DriveSpace."""
        place = self._path / FOLDER
        try:
            with suppress(FileExistsError):
                place.mkdir(0o700)
            flags = os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW
            self._folder = os.open(place, flags)
            self._lock = os.open(
                LOCK, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, MODE, dir_fd=self._folder
            )
        except OSError as error:
            self._close()
            if error.errno in (errno.ELOOP, errno.ENOTDIR):
                raise StorageError(
                    f"{place}: something else has the name of the test's folder; move it away"
                ) from None
            raise storage_error(error, place) from None
        try:
            fcntl.flock(self._lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            self._close()
            raise StorageError(f"{place}: another test is running there; wait for it") from None
        except OSError:
            # Some file systems know no locks: then nobody can tell, and names alone have to do.
            pass
        return self._clear()

    def space(self) -> Space:
        """See DriveSpace."""
        try:
            found = os.statvfs(self._path)
            system = self._path.stat().st_dev == Path("/").stat().st_dev
        except OSError as error:
            raise storage_error(error, self._path) from None
        return Space(found.f_blocks * found.f_frsize, found.f_bavail * found.f_frsize, system)

    def write(self, file: int, offset: int, data: memoryview) -> int:
        """See DriveSpace."""
        try:
            return os.pwrite(self._file(file), data, offset)
        except OSError as error:
            raise self._refused(error) from None

    def reserve(self, file: int, size: int) -> bool:
        """See DriveSpace."""
        library = ctypes.CDLL(None, use_errno=True)
        # With 64 bits for lengths, where the system has both.
        call = getattr(library, "fallocate64", None) or getattr(library, "fallocate", None)
        if call is None:
            return False
        call.argtypes = (ctypes.c_int, ctypes.c_int, ctypes.c_int64, ctypes.c_int64)
        if call(self._file(file), KEEP_SIZE, 0, size) != 0:
            code = ctypes.get_errno()
            if code in FULL:
                raise self._refused(OSError(code, os.strerror(code)))
            return False
        # Some file systems give the room back when the file is closed: it stays open.
        self._kept.add(file)
        return True

    def settle(self, file: int) -> None:
        """See DriveSpace."""
        handle = self._file(file)
        try:
            os.fsync(handle)
            if hasattr(os, "posix_fadvise"):
                os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
                self._past = Past.DROPPED
            if file not in self._kept:
                os.close(self._open.pop(file))
        except OSError as error:
            raise self._refused(error) from None

    def extents(self, file: int) -> list[Extent]:
        """See DriveSpace."""
        try:
            handle = os.open(_name(file), os.O_RDONLY | os.O_NOFOLLOW, dir_fd=self._folder)
        except OSError:
            return []
        try:
            return file_extents(handle)
        finally:
            os.close(handle)

    def read(self, file: int, offset: int, size: int) -> memoryview:
        """See DriveSpace."""
        if len(self._buffer) < size:
            self._buffer = mmap.mmap(-1, size)
        view = memoryview(self._buffer)[:size]
        try:
            if self._direct:
                try:
                    return view[: self._read(file, view, offset, DIRECT)]
                except OSError as error:
                    # So it is refused where the file system does not know it; else it is a fault.
                    if error.errno not in (errno.EINVAL, errno.EOPNOTSUPP):
                        raise
                    self._direct = False
            return view[: self._read(file, view, offset, 0)]
        except OSError as error:
            raise self._refused(error) from None

    def _read(self, file: int, view: memoryview, offset: int, flags: int) -> int:
        handle = os.open(_name(file), os.O_RDONLY | os.O_NOFOLLOW | flags, dir_fd=self._folder)
        try:
            if not flags and hasattr(os, "posix_fadvise"):
                os.posix_fadvise(handle, offset, len(view), os.POSIX_FADV_DONTNEED)
            count = os.preadv(handle, [view], offset)
        finally:
            os.close(handle)
        self._past = Past.DIRECT if flags else self._past
        return count

    def end(self) -> Cleared:
        """See DriveSpace."""
        if self._folder < 0:
            return Cleared()
        for handle in self._open.values():
            with suppress(OSError):
                os.close(handle)
        self._open.clear()
        self._kept.clear()
        cleared = self._clear()
        if not cleared.left and not cleared.strange:
            with suppress(OSError):
                os.unlink(LOCK, dir_fd=self._folder)
            with suppress(OSError):
                (self._path / FOLDER).rmdir()
        self._close()
        return cleared

    def _clear(self) -> Cleared:
        """Remove files with names of ours; others stay as they are."""
        removed, left, strange = 0, [], []
        try:
            with os.scandir(self._folder) as entries:
                names = sorted(one.name for one in entries)
        except OSError:
            return Cleared(left=(str(self._path / FOLDER),))
        for name in names:
            if name == LOCK:
                continue
            if not NAME.fullmatch(name):
                strange.append(name)
                continue
            try:
                # A folder of that name is not ours; a link is removed, not what it leads to.
                os.unlink(name, dir_fd=self._folder)
                removed += 1
            except OSError:
                left.append(name)
        return Cleared(removed, tuple(left), tuple(strange))

    def _file(self, number: int) -> int:
        if number not in self._open:
            flags = os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW
            try:
                self._open[number] = os.open(_name(number), flags, MODE, dir_fd=self._folder)
            except OSError as error:
                raise self._refused(error) from None
        return self._open[number]

    def _refused(self, error: OSError) -> DriveRefused:
        why = Why.FULL if error.errno in FULL else Why.FAULT
        return DriveRefused(str(storage_error(error, self._path)), why)

    def _close(self) -> None:
        for handle in (self._lock, self._folder):
            if handle >= 0:
                with suppress(OSError):
                    os.close(handle)
        self._lock = self._folder = -1


def _name(file: int) -> str:
    return f"{file:06d}.asfound-test"
