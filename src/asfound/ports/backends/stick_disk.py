"""A stick that the system has mounted: files through its open top folder, read past the cache.

The top is held open, so that a stick that is pulled out is never mistaken for the empty folder
that its going leaves; a lock on it keeps two runs apart. No link is followed below it.
"""

from __future__ import annotations

import errno
import fcntl
import mmap
import os
import stat
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from asfound.errors import NotFound, StorageError, UsageError
from asfound.model.stick import Entry, EntryKind, StickFacts
from asfound.ports.backends.disk import storage_error
from asfound.ports.backends.stick_mounts import (
    BLOCKS,
    SYSTEM,
    TABLE,
    is_system,
    mounted_at,
    mounts,
)
from asfound.ports.drive_space import Past

DIRECT: int = getattr(os, "O_DIRECT", 0)
MOST_ENTRIES = 100_000
GONE = (errno.ENODEV, errno.ENXIO, errno.ESTALE, errno.ESHUTDOWN)
FULL = (errno.ENOSPC, errno.EDQUOT)
NO_DIRECT = (errno.EINVAL, errno.EOPNOTSUPP)


class DiskStick:
    """The stick mounted at ``path``."""

    def __init__(
        self,
        path: Path,
        table: Path = TABLE,
        blocks: Path = BLOCKS,
        system: Sequence[Path] = SYSTEM,
    ) -> None:
        self._path = path
        self._system = system
        self._table = table
        self._blocks = blocks
        self._top = -1
        self._file = -1
        self._direct = bool(DIRECT)
        self._past = Past.UNSURE
        self._buffer = mmap.mmap(-1, 1 << 20)

    @property
    def past(self) -> Past:
        """See Stick."""
        return self._past

    def begin(self) -> None:
        """See Stick."""
        if not self._path.exists():
            raise NotFound(f"{self._path}: there is no such folder; name where it is mounted")
        if not self._path.is_dir():
            raise UsageError(f"{self._path}: is no folder; name where the stick is mounted")
        try:
            self._path = self._path.resolve()
            known = mounts(self._table)
            self._top = os.open(self._path, os.O_RDONLY | os.O_DIRECTORY)
        except OSError as error:
            raise storage_error(error, self._path) from None
        if mounted_at(self._path, known) is None:
            self.end()
            raise UsageError(
                f"{self._path}: no stick is mounted there, it is only a folder; mount the stick "
                "and name that place itself"
            )
        try:
            fcntl.flock(self._top, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            self.end()
            raise StorageError(f"{self._path}: another run is at work there; wait") from None
        except OSError:
            # Some file systems know no locks: then two runs at once are for people to avoid.
            pass

    def end(self) -> None:
        """See Stick."""
        for handle in (self._file, self._top):
            if handle >= 0:
                with suppress(OSError):
                    os.close(handle)
        self._file = self._top = -1

    def facts(self) -> StickFacts:
        """See Stick."""
        try:
            mount = mounted_at(self._path, mounts(self._table))
            found = os.fstatvfs(self._top)
            system = is_system(self._path, self._blocks, self._system)
        except OSError as error:
            raise self._refused(error, "") from None
        if mount is None:
            raise self._refused(OSError(errno.ENODEV, ""), "")
        return StickFacts(
            mount.kind,
            mount.device,
            found.f_blocks * found.f_frsize,
            found.f_bavail * found.f_frsize,
            found.f_frsize,
            mount.read_only or bool(found.f_flag & os.ST_RDONLY),
            system,
        )

    def entries(self) -> tuple[Entry, ...]:
        """See Stick."""
        found: list[Entry] = []
        folders = [""]
        try:
            while folders:
                inside = self._listed(folders.pop())
                found += inside
                folders += [one.path for one in inside if one.kind == "folder"]
                if len(found) > MOST_ENTRIES:
                    raise StorageError(
                        f"{self._path}: more than {MOST_ENTRIES} files are on it; use a stick "
                        "that is meant for firmware alone"
                    )
        except OSError as error:
            raise self._refused(error, "") from None
        return tuple(sorted(found, key=lambda one: one.path))

    def _listed(self, folder: str) -> list[Entry]:
        handle = os.open(
            folder or ".", os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW, dir_fd=self._top
        )
        try:
            with os.scandir(handle) as things:
                return [_entry(one, folder) for one in things]
        finally:
            os.close(handle)

    def make_folder(self, path: str) -> None:
        """See Stick."""
        try:
            os.mkdir(path, 0o755, dir_fd=self._top)
            self._sync(path)
        except OSError as error:
            raise self._refused(error, path) from None

    def create(self, path: str) -> None:
        """See Stick."""
        flags = os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW
        try:
            self._file = os.open(path, flags, 0o644, dir_fd=self._top)
        except OSError as error:
            raise self._refused(error, path) from None

    def write(self, data: memoryview) -> int:
        """See Stick."""
        try:
            return os.write(self._file, data)
        except OSError as error:
            raise self._refused(error, "") from None

    def settle(self) -> None:
        """See Stick."""
        try:
            os.fsync(self._file)
            if hasattr(os, "posix_fadvise"):
                os.posix_fadvise(self._file, 0, 0, os.POSIX_FADV_DONTNEED)
            handle, self._file = self._file, -1
            os.close(handle)
        except OSError as error:
            raise self._refused(error, "") from None

    def read(self, path: str, offset: int, size: int) -> memoryview:
        """See Stick."""
        if len(self._buffer) < size:
            self._buffer = mmap.mmap(-1, size)
        view = memoryview(self._buffer)[:size]
        try:
            if self._direct:
                try:
                    return view[: self._read(path, view, offset, DIRECT)]
                except OSError as error:
                    # So it is refused where the file system does not know it; else it is a fault.
                    if error.errno not in NO_DIRECT:
                        raise
                    self._direct = False
            return view[: self._read(path, view, offset, 0)]
        except OSError as error:
            raise self._refused(error, path) from None

    def _read(self, path: str, view: memoryview, offset: int, flags: int) -> int:
        flags |= os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK
        handle = os.open(path, flags, dir_fd=self._top)
        try:
            dropped = False
            if not flags & DIRECT and hasattr(os, "posix_fadvise"):
                os.posix_fadvise(handle, offset, len(view), os.POSIX_FADV_DONTNEED)
                dropped = True
            count = os.preadv(handle, [view], offset)
        finally:
            os.close(handle)
        if flags & DIRECT:
            self._past = Past.DIRECT
        else:
            self._past = Past.DROPPED if dropped else Past.UNSURE
        return count

    def rename(self, path: str, to: str) -> None:
        """See Stick."""
        try:
            # FAT keeps no second name for a file, so a name cannot be taken by a link; the lock
            # keeps other runs away between this look and the renaming.
            with suppress(FileNotFoundError):
                os.stat(to, dir_fd=self._top, follow_symlinks=False)
                raise StorageError(f"{self._path}/{to}: is there by now; run the command again")
            os.rename(path, to, src_dir_fd=self._top, dst_dir_fd=self._top)
            for one in {path.rpartition("/")[0], to.rpartition("/")[0]}:
                self._sync_folder(one)
        except OSError as error:
            raise self._refused(error, to) from None

    def remove(self, path: str) -> None:
        """See Stick."""
        try:
            os.unlink(path, dir_fd=self._top)
            self._sync(path)
        except OSError as error:
            raise self._refused(error, path) from None

    def _sync(self, path: str) -> None:
        self._sync_folder(path.rpartition("/")[0])

    def _sync_folder(self, folder: str) -> None:
        handle = os.open(folder or ".", os.O_RDONLY | os.O_DIRECTORY, dir_fd=self._top)
        try:
            os.fsync(handle)
        except OSError as error:
            if error.errno not in NO_DIRECT:
                raise
            # Drivers without it for folders: then everything is written out.
            os.sync()
        finally:
            os.close(handle)

    def _refused(self, error: OSError, path: str) -> StorageError:
        place = f"{self._path}/{path}" if path else str(self._path)
        if error.errno in GONE:
            return StorageError(
                f"{self._path}: the stick has gone; put it in again and run the same command: "
                "until that ends well nothing on it is to be used"
            )
        if error.errno == errno.EIO:
            return StorageError(
                f"{place}: the stick does not answer (input/output error); put it in again and run "
                "the same command, and if it does so again, use another stick"
            )
        if error.errno in FULL:
            return StorageError(
                f"{place}: the stick is full; delete what is not needed and run the command again"
            )
        if error.errno == errno.EROFS:
            # The kernel makes a FAT read-only by itself when it finds its tables in disorder.
            return StorageError(
                f"{place}: the stick is read-only; look for its switch, have its file system "
                "checked, or use another stick"
            )
        if error.errno in (errno.EACCES, errno.EPERM):
            return StorageError(f"{place}: permission denied; mount the stick writable for you")
        return storage_error(error, Path(place))


def _entry(one: os.DirEntry[str], folder: str) -> Entry:
    path = f"{folder}/{one.name}" if folder else one.name
    found = one.stat(follow_symlinks=False)
    kind: EntryKind = "other"
    if stat.S_ISREG(found.st_mode):
        kind = "file"
    elif stat.S_ISDIR(found.st_mode):
        kind = "folder"
    elif stat.S_ISLNK(found.st_mode):
        kind = "link"
    return Entry(path, kind, found.st_size if kind == "file" else 0)
