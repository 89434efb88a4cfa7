"""A new file that is there whole or not at all, and never takes another one's place.

Until it is finished it has no name where the system can do so (open(2), O_TMPFILE), so that a
killed program leaves nothing. Elsewhere (FAT, exFAT, other systems) it is a hidden file beside its
place, locked while it is written; one whose lock is gone was left by a killed program, and the
next run to the same place removes it.
"""

from __future__ import annotations

import errno
import glob
import hashlib
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from asfound.errors import NotFound, UsageError
from asfound.ports.backends.disk import storage_error

if sys.platform != "win32":
    import fcntl

_HANDLES = Path("/proc/self/fd")
"""Where Linux shows a program's open files (proc(5))."""

_NO_SUCH_THING = (errno.EOPNOTSUPP, errno.EISDIR, errno.EINVAL, errno.ENOENT)
"""What open(2) answers where files cannot be nameless; ENOENT also stands for a missing folder,
which the named file then reports."""

_SUFFIX = ".part"


def check_new(out: Path) -> None:
    """Raises NotFound without its folder, UsageError when something has the name."""
    if not out.parent.is_dir():
        raise NotFound(f"{out.parent}: there is no such folder; make it first")
    if out.exists() or out.is_symlink():
        raise _taken(out)


@contextmanager
def part_of(out: Path) -> Iterator[Path]:
    """An empty file on the disk of ``out`` to write to; gone afterwards. Raises StorageError."""
    _remove_left(out)
    try:
        handle, part = _nameless(out.parent) or _hidden(out)
    except OSError as error:
        raise storage_error(error, out) from None
    try:
        yield part
    finally:
        os.close(handle)
        if part.parent == out.parent:
            part.unlink(missing_ok=True)


def _nameless(folder: Path) -> tuple[int, Path] | None:
    """An open file without a name; None where folder or system know no such thing."""
    if sys.platform != "linux" or not _HANDLES.is_dir():
        return None
    try:
        handle = os.open(folder, os.O_TMPFILE | os.O_RDWR, 0o600)
    except OSError as error:
        if error.errno in _NO_SUCH_THING:
            return None
        raise
    return handle, _HANDLES / str(handle)


def _hidden(out: Path) -> tuple[int, Path]:
    """An open file beside ``out``, locked for as long as it is open."""
    handle, name = tempfile.mkstemp(dir=out.parent, prefix=_prefix(out), suffix=_SUFFIX)
    if sys.platform != "win32":
        with suppress(OSError):  # some network disks know no locks: such a file is never removed
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    return handle, Path(name)


def _prefix(out: Path) -> str:
    return f".{out.name[:80]}-"


def _remove_left(out: Path) -> None:
    """Hidden parts of ``out`` that nobody writes to any more."""
    if sys.platform == "win32":
        return
    for part in out.parent.glob(f"{glob.escape(_prefix(out))}????????{_SUFFIX}"):
        with suppress(OSError):
            handle = os.open(part, os.O_RDWR | os.O_NOFOLLOW)
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                part.unlink()
            finally:
                os.close(handle)


def hash_file(path: Path) -> tuple[str, int]:
    """SHA-256 (hex) and size in bytes of a file that is then durable on its disk."""
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
        os.fsync(file.fileno())
    return digest, path.stat().st_size


def publish(part: Path, out: Path) -> None:
    """Give the finished file its name, unless somebody has taken the name by now.

    Raises UsageError, StorageError.
    """
    umask = os.umask(0)
    os.umask(umask)
    try:
        with suppress(PermissionError):  # FAT knows no permissions
            part.chmod(0o666 & ~umask)
        try:
            _link(part, out)
        except FileExistsError:
            raise _taken(out) from None
        except OSError:
            # FAT and exFAT have no hard links: take the name first, then fill it.
            _take_name(out)
            _fill(part, out)
    except OSError as error:
        raise storage_error(error, out) from None


def _link(part: Path, out: Path) -> None:
    if part.parent != _HANDLES:
        out.hardlink_to(part)
        return
    folder = os.open(out.parent, os.O_RDONLY)
    try:
        # Only with a folder does Python call linkat(2), which can follow the handle to its file.
        os.link(part, out, src_dir_fd=folder, follow_symlinks=True)
    finally:
        os.close(folder)


def _fill(part: Path, out: Path) -> None:
    if part.parent != _HANDLES:
        part.replace(out)
        return
    try:
        shutil.copyfile(part, out)
    except OSError:
        out.unlink(missing_ok=True)
        raise


def _take_name(out: Path) -> None:
    try:
        os.close(os.open(out, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    except FileExistsError:
        raise _taken(out) from None


def _taken(out: Path) -> UsageError:
    return UsageError(f"{out}: is there already and is left alone; choose another name")
