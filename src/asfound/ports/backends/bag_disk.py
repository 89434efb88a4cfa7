"""Bags in folders. A new one lies in NAME.unfinished until it is whole, locked while it is
written: one whose lock is gone was left by a killed run."""

from __future__ import annotations

import fcntl
import hashlib
import os
import shutil
import stat
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

from asfound.errors import IntegrityError, NotFound, StorageError, UsageError
from asfound.ports.backends.disk import storage_error
from asfound.ports.bags import Copied, Entry, EntryKind

CHUNK = 1 << 20
SUFFIX = ".unfinished"
MARK = ".asfound-unfinished"
NO_ATIME: int = getattr(os, "O_NOATIME", 0)


class DiskBag:
    """See ports.bags.OpenBag."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def entries(self) -> Iterator[Entry]:
        """See OpenBag."""
        if self._path.is_symlink():
            raise UsageError(f"{self._path}: is a link; name the folder itself")
        if not self._path.is_dir():
            raise NotFound(f"{self._path}: there is no such folder; name the bag's folder")
        waiting = [""]
        while waiting:
            above = waiting.pop()
            try:
                with os.scandir(self._path / above) as found:
                    for one in sorted(found, key=lambda one: one.name):
                        name = above + one.name
                        if one.is_dir(follow_symlinks=False):
                            waiting.append(name + "/")
                        else:
                            yield _entry(name, one)
            except OSError as error:
                raise storage_error(error, self._path / above) from None

    def read(self, name: str, most: int) -> bytes:
        """See OpenBag."""
        with closing(_Reader(self._path / name)) as reader:
            return reader.read(most)

    def lines(self, name: str, most: int) -> Iterator[bytes]:
        """See OpenBag."""
        path = self._path / name
        try:
            with os.fdopen(_opened(path), "rb") as stream:
                while line := stream.readline(most):
                    yield line
        except OSError as error:
            raise storage_error(error, path) from None

    def hashes(self, name: str, names: tuple[str, ...]) -> tuple[str, ...]:
        """See OpenBag."""
        sums = [hashlib.new(one) for one in names]
        with closing(_Reader(self._path / name)) as reader:
            while data := reader.read(CHUNK):
                for one in sums:
                    one.update(data)
        return tuple(one.hexdigest() for one in sums)


def _entry(name: str, one: os.DirEntry[str]) -> Entry:
    facts = one.stat(follow_symlinks=False)
    if stat.S_ISLNK(facts.st_mode):
        return Entry(name, EntryKind.LINK, 0)
    kind = EntryKind.FILE if stat.S_ISREG(facts.st_mode) else EntryKind.OTHER
    return Entry(name, kind, facts.st_size)


def _opened(path: Path) -> int:
    """A handle for reading; a pipe put in a file's place does not hold it up."""
    return os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)


class _Reader:
    """Reads a file; errors name it."""

    def __init__(self, path: Path) -> None:
        self._path = path
        try:
            self.handle = _opened(path)
        except OSError as error:
            raise storage_error(error, path) from None

    def read(self, most: int) -> bytes:
        try:
            return os.read(self.handle, most)
        except OSError as error:
            raise storage_error(error, self._path) from None

    def close(self) -> None:
        os.close(self.handle)


class DiskNewBag:
    """See ports.bags.NewBag."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._part = path.with_name(path.name + SUFFIX)
        self._lock = -1

    def begin(self) -> int:
        """See NewBag."""
        if not self._path.parent.is_dir():
            raise NotFound(f"{self._path.parent}: there is no such folder; make it first")
        self._free()
        removed = self._clear() if self._part.exists() or self._part.is_symlink() else 0
        try:
            self._part.mkdir()
            self._lock = _locked(self._part / MARK, os.O_CREAT | os.O_EXCL)
            (self._part / "data").mkdir()
        except OSError as error:
            raise storage_error(error, self._part) from None
        return removed

    def _free(self) -> None:
        if self._path.exists() or self._path.is_symlink():
            raise UsageError(
                f"{self._path}: is there already and is left alone; choose another name"
            )

    def _clear(self) -> int:
        """Remove what a killed run left; only a folder with our mark, that nobody writes to."""
        if self._part.is_symlink() or not (self._part / MARK).is_file():
            raise UsageError(f"{self._part}: is in the way and not ours; move it away")
        try:
            handle = _locked(self._part / MARK, 0)
        except BlockingIOError:
            raise StorageError(f"{self._part}: another copy is running; wait for it") from None
        except OSError as error:
            raise storage_error(error, self._part) from None
        count = sum(len(files) for _, _, files in os.walk(self._part)) - 1
        try:
            shutil.rmtree(self._part)
        except OSError as error:
            raise storage_error(error, self._part) from None
        finally:
            os.close(handle)
        return count

    def copy(self, source: Path, name: str) -> Copied:
        """See NewBag."""
        handle = _original(source)
        try:
            before = os.fstat(handle)
            digest = self._copied(handle, source, name)
            after = os.fstat(handle)
        finally:
            os.close(handle)
        same = (before.st_size, before.st_mtime_ns) == (after.st_size, after.st_mtime_ns)
        target = self._part / name
        if not same or target.stat().st_size != before.st_size:
            raise IntegrityError(f"{source}: changed while it was copied; stop what writes to it")
        with closing(_Reader(target)) as reader:
            # What was flushed leaves the computer's memory: what is read now is on the disk.
            if hasattr(os, "posix_fadvise"):
                os.posix_fadvise(reader.handle, 0, 0, os.POSIX_FADV_DONTNEED)
            again = hashlib.sha256()
            while data := reader.read(CHUNK):
                again.update(data)
        if again.hexdigest() != digest:
            raise IntegrityError(f"{target}: came back changed from the disk; use another disk")
        with suppress(OSError):
            os.utime(target, ns=(before.st_mtime_ns, before.st_mtime_ns))
        return Copied(digest, before.st_size, before.st_mtime_ns)

    def _copied(self, handle: int, source: Path, name: str) -> str:
        target = self._part / name
        digest = hashlib.sha256()
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            with target.open("xb") as stream:
                while data := _bytes_of(handle, source):
                    digest.update(data)
                    stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
        except OSError as error:
            raise storage_error(error, target) from None
        return digest.hexdigest()

    def write(self, name: str, data: bytes) -> None:
        """See NewBag."""
        target = self._part / name
        try:
            with target.open("xb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
        except OSError as error:
            raise storage_error(error, target) from None

    def finish(self) -> None:
        """See NewBag."""
        self._free()
        try:
            (self._part / MARK).unlink()
            self._part.rename(self._path)
            folder = os.open(self._path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
        except OSError as error:
            raise storage_error(error, self._path) from None
        os.close(self._lock)
        self._lock = -1

    def drop(self) -> None:
        """See NewBag."""
        if self._lock >= 0:
            shutil.rmtree(self._part, ignore_errors=True)
            os.close(self._lock)
            self._lock = -1


def _locked(path: Path, flags: int) -> int:
    handle = os.open(path, os.O_RDWR | os.O_NOFOLLOW | flags, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(handle)
        raise
    except OSError:
        # Some network disks know no locks: then nobody can tell, and the mark alone has to do.
        pass
    return handle


def _original(source: Path) -> int:
    """The original, for reading alone; where the system lets us, not even its time of access
    changes."""
    try:
        try:
            return os.open(source, os.O_RDONLY | NO_ATIME)
        except PermissionError:
            return os.open(source, os.O_RDONLY)
    except OSError as error:
        raise storage_error(error, source) from None


def _bytes_of(handle: int, source: Path) -> bytes:
    try:
        return os.read(handle, CHUNK)
    except OSError as error:
        raise IntegrityError(
            f"{source}: cannot be read to its end ({error.strerror}); copy the drive first"
        ) from None
