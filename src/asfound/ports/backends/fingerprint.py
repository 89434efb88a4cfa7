"""What tells a file's content without reading all of it.

On this machine: size, time of last change and a hash of the file's bytes: all of them up to
1 MiB, else the first and last 64 KiB and six pieces of 16 KiB spread between. A look at a drive
reads a small part of it; hashing every byte would read it all, hours for a full drive. It can be
wrong for a file whose bytes change between those pieces while size and time stay: decay on the
drive, or a repair that sets the time back. ``whole`` hashes every byte and leaves out the time.

Object storage keeps a tag that changes with the bytes (RFC 9110 section 8.8.3, strong entity
tags); then nothing is read.
"""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from asfound.errors import RecordingError
from asfound.ports.backends.remote_path import RemotePath
from asfound.ports.backends.remote_store import read

SMALL_BYTES = 1 << 20
END_BYTES = 1 << 16
PIECE_BYTES = 1 << 14
PIECES = 6

SETTLED_S = 3.0
"""A file changed this recently [s] may change again without its time telling: FAT keeps times
to 2 s (ECMA-107, directory entries)."""


def fingerprint(path: Path, whole: bool = False) -> str:
    """See ports.results.Results.fingerprint. Raises StorageError for storage that is away."""
    if isinstance(path, RemotePath):
        return _remote(path, whole)
    try:
        with path.open("rb") as file:
            facts = os.fstat(file.fileno())
            if abs(time.time() - facts.st_mtime) < SETTLED_S:
                return ""

            def piece(start: int, length: int) -> bytes:
                file.seek(start)
                return file.read(length)

            digest = _digest(piece, facts.st_size, whole)
    except OSError:
        return ""
    when = "" if whole else str(facts.st_mtime_ns)
    return f"{facts.st_size} {when} {digest}"


def _remote(path: RemotePath, whole: bool) -> str:
    try:
        facts = path.facts_now()
        strong = facts.tag and not facts.tag.startswith("W/")
        if strong and not whole:
            return f"{facts.size} tag {facts.tag}"
        if not strong and abs(time.time() - facts.changed) < SETTLED_S:
            return ""
        if not (strong or facts.changed or whole):
            return ""
        url = str(path)
        digest = _digest(lambda start, length: read(url, start, start + length), facts.size, whole)
    except (FileNotFoundError, RecordingError):
        return ""
    when = "" if whole else str(facts.changed)
    return f"{facts.size} {when} {digest}"


def _digest(piece: Callable[[int, int], bytes], size: int, whole: bool) -> str:
    digest = hashlib.sha256()
    for start, length in parts(size, whole):
        end = start + length
        while start < end and (data := piece(start, min(end - start, SMALL_BYTES))):
            digest.update(data)
            start += len(data)
    return digest.hexdigest()


def parts(size: int, whole: bool) -> Iterator[tuple[int, int]]:
    """(start, length) of what is hashed of a file."""
    if whole or size <= SMALL_BYTES:
        yield 0, size
        return
    yield 0, END_BYTES
    room = size - 2 * END_BYTES - PIECE_BYTES
    for number in range(PIECES):
        yield END_BYTES + room * (2 * number + 1) // (2 * PIECES), PIECE_BYTES
    yield size - END_BYTES, END_BYTES
