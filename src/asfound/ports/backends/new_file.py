"""A new file that is there whole or not at all, and never takes another one's place."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from asfound.errors import NotFound, UsageError
from asfound.ports.backends.disk import storage_error


def check_new(out: Path) -> None:
    """Raises NotFound without its folder, UsageError when something has the name."""
    if not out.parent.is_dir():
        raise NotFound(f"{out.parent}: there is no such folder; make it first")
    if out.exists() or out.is_symlink():
        raise _taken(out)


@contextmanager
def part_of(out: Path) -> Iterator[Path]:
    """An empty file beside ``out`` to write to; gone afterwards. Raises StorageError."""
    try:
        handle, name = tempfile.mkstemp(dir=out.parent, prefix=f".{out.name[:80]}-", suffix=".part")
        os.close(handle)
    except OSError as error:
        raise storage_error(error, out) from None
    part = Path(name)
    try:
        yield part
    finally:
        part.unlink(missing_ok=True)


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
            out.hardlink_to(part)
        except FileExistsError:
            raise _taken(out) from None
        except OSError:
            # FAT and exFAT have no hard links: take the name first, then fill it.
            _take_name(out)
            part.replace(out)
    except OSError as error:
        raise storage_error(error, out) from None


def _take_name(out: Path) -> None:
    try:
        os.close(os.open(out, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    except FileExistsError:
        raise _taken(out) from None


def _taken(out: Path) -> UsageError:
    return UsageError(f"{out}: is there already and is left alone; choose another name")
