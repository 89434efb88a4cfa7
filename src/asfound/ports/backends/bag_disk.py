"""Bags in folders.

A new one is built as NAME.unfinished/bag and gets its name when it is whole. Beside it lies our
mark, locked while somebody writes: a mark whose lock is gone was left by a killed run. The mark
comes before everything else and goes after everything else, so that at whatever moment a run is
killed, the next one knows what is ours.
"""

from __future__ import annotations

import errno
import fcntl
import hashlib
import os
import shutil
import stat
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path

from asfound.errors import IntegrityError, NotFound, StorageError, UsageError
from asfound.ports.backends.bag_beneath import Beneath
from asfound.ports.backends.bag_copying import CHUNK, Copier, read_again, write_all
from asfound.ports.backends.disk import storage_error
from asfound.ports.bags import Copied, Entry, EntryKind

SUFFIX = ".unfinished"
MARK = ".asfound-unfinished"
INNER = "bag"
NO_ATIME: int = getattr(os, "O_NOATIME", 0)
NO_FOLDER_SYNC = (errno.EINVAL, errno.EOPNOTSUPP)


class DiskBag:
    """See ports.bags.OpenBag. No part of a path below the bag's folder may be a link."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._beneath = Beneath(path)

    def entries(self) -> Iterator[Entry]:
        """See OpenBag."""
        waiting = [""]
        while waiting:
            above = waiting.pop()
            handle = self._beneath.folder(above)
            try:
                with os.scandir(handle) as found:
                    for one in sorted(found, key=lambda one: one.name):
                        name = f"{above}/{one.name}" if above else one.name
                        if one.is_dir(follow_symlinks=False):
                            waiting.append(name)
                        else:
                            yield _entry(name, one)
            except OSError as error:
                raise storage_error(error, self._path / above) from None
            finally:
                os.close(handle)

    def read(self, name: str, most: int) -> bytes:
        """See OpenBag."""
        with closing(_Reader(self._beneath, self._path, name)) as reader:
            return reader.read(most)

    def lines(self, name: str, most: int) -> Iterator[bytes]:
        """See OpenBag."""
        handle = self._beneath.file(name)
        try:
            with os.fdopen(handle, "rb") as stream:
                while line := stream.readline(most):
                    yield line
        except OSError as error:
            raise storage_error(error, self._path / name) from None

    def hashes(self, name: str, names: tuple[str, ...]) -> tuple[str, ...]:
        """See OpenBag."""
        sums = [hashlib.new(one) for one in names]
        with closing(_Reader(self._beneath, self._path, name)) as reader:
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


class _Reader:
    """Reads a file; errors name it."""

    def __init__(self, beneath: Beneath, top: Path, name: str) -> None:
        self._path = top / name
        self._handle = beneath.file(name)

    def read(self, most: int) -> bytes:
        try:
            return os.read(self._handle, most)
        except OSError as error:
            raise storage_error(error, self._path) from None

    def close(self) -> None:
        os.close(self._handle)


class DiskNewBag:
    """See ports.bags.NewBag."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._part = path.with_name(path.name + SUFFIX)
        self._bag = self._part / INNER
        self._copier = Copier()
        self._lock = -1

    def begin(self) -> int:
        """See NewBag."""
        if not self._path.parent.is_dir():
            raise NotFound(f"{self._path.parent}: there is no such folder; make it first")
        self._free()
        removed = self._clear() if os.path.lexists(self._part) else 0
        try:
            self._part.mkdir(exist_ok=True)
            self._lock = _locked(self._part / MARK, os.O_CREAT | os.O_EXCL)
            self._bag.mkdir()
            (self._bag / "data").mkdir()
        except OSError as error:
            self.drop()
            with suppress(OSError):
                self._part.rmdir()
            raise storage_error(error, self._part) from None
        return removed

    def _free(self) -> None:
        if os.path.lexists(self._path):
            raise UsageError(
                f"{self._path}: is there already and is left alone; choose another name"
            )

    def _clear(self) -> int:
        """Remove what a killed run left; only in a folder with our mark, that nobody writes to.
        An empty folder was left before the mark came, or after it went: it is used."""
        try:
            if not self._part.is_symlink() and not list(self._part.iterdir()):
                return 0
            if self._part.is_symlink() or not stat.S_ISREG(os.lstat(self._part / MARK).st_mode):
                raise self._in_the_way()
            handle = _locked(self._part / MARK, 0)
        except BlockingIOError:
            raise StorageError(f"{self._part}: another copy is running; wait for it") from None
        except (FileNotFoundError, NotADirectoryError):
            raise self._in_the_way() from None
        except OSError as error:
            raise storage_error(error, self._part) from None
        count = sum(len(files) for _, _, files in os.walk(self._bag))
        try:
            self._remove()
        except OSError as error:
            raise storage_error(error, self._part) from None
        finally:
            os.close(handle)
        return count

    def _in_the_way(self) -> UsageError:
        return UsageError(f"{self._part}: is in the way and not ours; move it away")

    def _remove(self) -> None:
        """Raises OSError; something of somebody else's in the folder stays, and the folder."""
        if os.path.lexists(self._bag):
            shutil.rmtree(self._bag)
        (self._part / MARK).unlink(missing_ok=True)
        self._part.rmdir()

    def copy(self, source: Path, name: str) -> Copied:
        """See NewBag."""
        target = self._target(name)
        handle = _original(source)
        try:
            before = os.fstat(handle)
            digest = self._copied(handle, source, target)
            after = os.fstat(handle)
        finally:
            os.close(handle)
        same = (before.st_size, before.st_mtime_ns) == (after.st_size, after.st_mtime_ns)
        if not same or target.stat().st_size != before.st_size:
            raise IntegrityError(f"{source}: changed while it was copied; stop what writes to it")
        self._copier.look_again(target, digest)
        return Copied(digest, before.st_size, before.st_mtime_ns)

    def _copied(self, handle: int, source: Path, target: Path) -> str:
        return self._copier.copy(handle, source, target)

    def _target(self, name: str) -> Path:
        target = self._bag / name
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise storage_error(error, target) from None
        return target

    def derive(self, name: str, of: str, make: Callable[[Path, Path], None]) -> Copied:
        """See NewBag."""
        target = self._target(name)
        try:
            make(self._bag / of, target)
        except BaseException:
            with suppress(OSError):
                target.unlink(missing_ok=True)
            raise
        try:
            handle = os.open(target, os.O_RDONLY | os.O_NOFOLLOW)
            try:
                os.fsync(handle)
                facts = os.fstat(handle)
            finally:
                os.close(handle)
        except OSError as error:
            raise storage_error(error, target) from None
        return Copied(read_again(target), facts.st_size, facts.st_mtime_ns)

    def settle(self) -> None:
        """See NewBag."""
        self._copier.settle()

    def write(self, name: str, data: bytes) -> None:
        """See NewBag."""
        target = self._target(name)
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW
        try:
            handle = os.open(target, flags, 0o644)
            try:
                write_all(handle, data)
                os.fsync(handle)
            finally:
                os.close(handle)
        except OSError as error:
            raise storage_error(error, target) from None

    def finish(self) -> None:
        """See NewBag."""
        self.settle()
        self._free()
        try:
            for folder, _, _ in os.walk(self._bag, topdown=False):
                _sync_folder(Path(folder))
            self._bag.rename(self._path)
            _sync_folder(self._path.parent)
        except OSError as error:
            raise storage_error(error, self._path) from None

    def drop(self) -> None:
        """See NewBag."""
        self._copier.close()
        if self._lock >= 0:
            with suppress(OSError):
                self._remove()
            os.close(self._lock)
            self._lock = -1


def _sync_folder(folder: Path) -> None:
    """The names in it are durable. Raises OSError."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    except OSError as error:
        # Some file systems know no such thing for folders.
        if error.errno not in NO_FOLDER_SYNC:
            raise
    finally:
        os.close(handle)


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
