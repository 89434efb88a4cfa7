"""An image onto a stick, and back: written whole, read past the cache, hashed both ways."""

from __future__ import annotations

import hashlib

from asfound.errors import IntegrityError, StorageError
from asfound.model.stick import Entry
from asfound.ports.progress import Progress
from asfound.ports.stick import Image, Stick

PIECE = 1 << 20


def hash_image(image: Image, progress: Progress) -> tuple[str, int]:
    """SHA-256 (hex) and bytes of the image here. Raises NotFound, UsageError, StorageError."""
    size, done, digest = image.size(), 0, hashlib.sha256()
    for piece in image.pieces():
        digest.update(piece)
        done += len(piece)
        progress(done, size, "looking at the image")
    return digest.hexdigest(), done


def copy_image(image: Image, stick: Stick, path: str, sha256: str, progress: Progress) -> None:
    """Write the image to ``path``, a new file, and settle it.

    Raises IntegrityError when it is not the image that was hashed any more, StorageError.
    """
    size, done, digest = image.size(), 0, hashlib.sha256()
    stick.create(path)
    for piece in image.pieces():
        digest.update(piece)
        write_all(stick, piece)
        done += len(piece)
        progress(done, size, "writing")
    stick.settle()
    if digest.hexdigest() != sha256:
        raise IntegrityError(f"{image.name}: was changed while it was copied; run it again")


def write_all(stick: Stick, data: bytes) -> None:
    """All of ``data``, in as many writes as it takes. Raises StorageError."""
    left = memoryview(data)
    while left:
        count = stick.write(left)
        if not 0 < count <= len(left):
            raise StorageError("the stick takes nothing more without saying why; use another one")
        left = left[count:]


def hash_on_stick(stick: Stick, entry: Entry, progress: Progress) -> tuple[str, int]:
    """SHA-256 (hex) and bytes of what a file on the stick gives. Raises StorageError."""
    done, digest = 0, hashlib.sha256()
    # Not past the end: a read there begins between two sectors, which cannot go past the cache.
    while done < entry.size:
        piece = stick.read(entry.path, done, PIECE)
        if not len(piece):
            break
        digest.update(piece)
        done += len(piece)
        progress(done, entry.size, "reading back")
    return digest.hexdigest(), done


def read_whole(stick: Stick, path: str, size: int) -> bytes:
    """The ``size`` bytes of a small file, fewer where it ends. Raises StorageError."""
    data = bytearray()
    while len(data) < size:
        piece = stick.read(path, len(data), PIECE)
        if not len(piece):
            break
        data += piece
    return bytes(data)


def put_file(stick: Stick, part: str, path: str, data: bytes) -> None:
    """A small file, under its name only when it is whole and came back. Raises StorageError,
    IntegrityError."""
    stick.create(part)
    write_all(stick, data)
    stick.settle()
    if read_whole(stick, part, len(data)) != data:
        raise IntegrityError(f"{path}: did not come back from the stick as written; use another")
    stick.rename(part, path)
