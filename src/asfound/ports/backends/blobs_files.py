"""Blobs as files: ``root/ab/cdef…``, named by SHA-256, durable before the name is given out.

Bytes go to a temporary file in the same folder tree, which is flushed to the disk and then
renamed; the folder is flushed too. A process killed at any moment leaves either the whole blob
or a temporary file that nobody refers to; those are swept after a day.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from asfound.errors import IntegrityError, NotFound, StorageError
from asfound.ports.backends.disk import storage_error

_NAME = re.compile(r"[0-9a-f]{64}")
_CHUNK = 1 << 20
_STALE_S = 86_400.0


class FileBlobs:
    """A content-addressed folder. Nothing is created before the first ``put``."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._swept = False

    def put(self, data: bytes) -> str:
        """Store bytes durably and return their name. Raises StorageError."""
        return self._store(data[at : at + _CHUNK] for at in range(0, len(data), _CHUNK))

    def put_file(self, path: Path) -> str:
        """Store a file's bytes durably, a piece at a time. Raises StorageError, NotFound."""
        return self._store(_pieces(path))

    def get(self, name: str) -> bytes:
        """The bytes, checked against the name. Raises NotFound, IntegrityError, StorageError."""
        place = self.path(name)
        try:
            data = place.read_bytes()
        except OSError as error:
            raise storage_error(error, place) from None
        if hashlib.sha256(data).hexdigest() != name:
            raise IntegrityError(
                f"{place}: not the bytes that were stored; bring the file back from a copy"
            )
        return data

    def path(self, name: str) -> Path:
        """Where the bytes lie. Raises NotFound."""
        if not self.has(name):
            raise NotFound(
                f"no blob {name!r} in {self.root}; bring it back from a copy of this folder"
            )
        return self._place(name)

    def remove(self, name: str) -> None:
        """Delete the bytes, durably, and first what a killed process left of them half written.
        Raises StorageError."""
        if not self.has(name):
            return
        place = self._place(name)
        try:
            self._remove_leftovers(place)
            place.unlink(missing_ok=True)
            _flush_folder(place.parent)
        except OSError as error:
            raise storage_error(error, place) from None

    def _remove_leftovers(self, place: Path) -> None:
        """Temporary files that hold the beginning, or all, of the bytes at ``place``."""
        waiting = self.root / "tmp"
        if not waiting.is_dir():
            return
        for left in waiting.iterdir():
            # Another process may be putting its own file in place just now.
            with suppress(FileNotFoundError):
                if left.stat().st_size and _begins_with(place, left):
                    left.unlink()
        _flush_folder(waiting)

    def has(self, name: str) -> bool:
        """True when the bytes are here."""
        return bool(_NAME.fullmatch(name)) and self._place(name).is_file()

    def _place(self, name: str) -> Path:
        return self.root / name[:2] / name[2:]

    def _store(self, pieces: Iterable[bytes]) -> str:
        waiting = self.root / "tmp"
        try:
            _make_folder(waiting)
            self._sweep(waiting)
            handle, temporary = tempfile.mkstemp(dir=waiting)
        except OSError as error:
            raise storage_error(error, self.root) from None
        try:
            name = _write(handle, pieces)
            self._settle(Path(temporary), name)
        except OSError as error:
            raise storage_error(error, self.root) from None
        finally:
            # What a disk refuses to remove is swept after a day.
            with suppress(OSError):
                Path(temporary).unlink(missing_ok=True)
        return name

    def _settle(self, temporary: Path, name: str) -> None:
        """Rename into place. An older file of that name is replaced by the same bytes, which
        also mends one that was damaged."""
        place = self._place(name)
        _make_folder(place.parent)
        temporary.replace(place)
        _flush_folder(place.parent)

    def _sweep(self, waiting: Path) -> None:
        if self._swept:
            return
        self._swept = True
        for left in waiting.iterdir():
            if time.time() - left.stat().st_mtime > _STALE_S:
                left.unlink(missing_ok=True)


def _begins_with(whole: Path, part: Path) -> bool:
    """True when the bytes of ``part`` are the first of ``whole``."""
    with whole.open("rb") as long, part.open("rb") as short:
        while piece := short.read(_CHUNK):
            if long.read(len(piece)) != piece:
                return False
    return True


def _pieces(path: Path) -> Iterator[bytes]:
    """The file's bytes; faults of reading are told apart from faults of storing."""
    try:
        with path.open("rb") as source:
            while piece := source.read(_CHUNK):
                yield piece
    except FileNotFoundError:
        raise NotFound(f"{path}: no such file; check the name") from None
    except IsADirectoryError:
        raise NotFound(f"{path}: is a folder; name the files in it") from None
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise StorageError(f"{path}: {reason} while reading; copy it again and retry") from None


def _write(handle: int, pieces: Iterable[bytes]) -> str:
    digest = hashlib.sha256()
    with os.fdopen(handle, "wb") as target:
        for piece in pieces:
            digest.update(piece)
            target.write(piece)
        target.flush()
        os.fsync(target.fileno())
    return digest.hexdigest()


def _make_folder(folder: Path) -> None:
    """Make ``folder`` and its parents, each durable in its own parent."""
    if folder.is_dir():
        return
    _make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    _flush_folder(folder.parent)


def _flush_folder(folder: Path) -> None:
    """Make a rename durable. Systems that cannot open folders (Windows) flush it themselves."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
