"""Copying a file into a bag in one pass: read, hashed beside, written, flushed, read again.

hashlib lets other threads run while it works, so hashing costs no time of its own where two cores
are free. What was written is sent on to the disk every FLUSH_EVERY bytes, which the last flush
then need not wait for. Copies are read again behind the copying of the next ones.
"""

from __future__ import annotations

import hashlib
import os
from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from queue import SimpleQueue
from threading import Event

from asfound.errors import IntegrityError, Interrupted
from asfound.ports.backends.disk import storage_error

CHUNK = 1 << 20
PIECE = 1 << 19
PIECES = 8
"""So many pieces may be under way from reading to hashing. Their memory is used again: asking the
system for new memory costs more than the reading."""
FLUSH_EVERY = 32 << 20


class Copier:
    """Copies into new files, and looks at the copies again. ``close`` ends its threads."""

    def __init__(self) -> None:
        self._hashing = ThreadPoolExecutor(1)
        self._flushing = ThreadPoolExecutor(1)
        self._reading = ThreadPoolExecutor(1)
        self._free: SimpleQueue[bytearray] = SimpleQueue()
        for _ in range(PIECES):
            self._free.put(bytearray(PIECE))
        self._looks: deque[Future[None]] = deque()
        self._stop = Event()

    def copy(self, handle: int, source: Path, target: Path) -> str:
        """SHA-256 (hex) of what was read of ``handle`` and is durable in the new file ``target``;
        it has the original's time of change. Raises StorageError, IntegrityError."""
        try:
            out = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o644)
            try:
                digest = self._piped(handle, source, out)
                changed = os.fstat(handle).st_mtime_ns
                with suppress(OSError):
                    os.utime(out, ns=(changed, changed))
                os.fsync(out)
            finally:
                os.close(out)
        except OSError as error:
            raise storage_error(error, target) from None
        return digest

    def _piped(self, handle: int, source: Path, out: int) -> str:
        digest = hashlib.sha256()
        full: SimpleQueue[tuple[bytearray, int]] = SimpleQueue()
        hashing = self._hashing.submit(self._hash, digest, full)
        sent: Future[None] | None = None
        waiting = 0
        try:
            while True:
                piece = self._free.get()
                count = read_into(handle, piece, source)
                # Nothing in it: the end, for the hashing as well.
                full.put((piece, count))
                if not count:
                    break
                write_all(out, memoryview(piece)[:count])
                waiting += count
                if waiting >= FLUSH_EVERY and (sent is None or sent.done()):
                    if sent is not None:
                        # What the disk refused is told once, to whoever flushed.
                        sent.result()
                    sent, waiting = self._flushing.submit(os.fdatasync, out), 0
        except BaseException:
            full.put((bytearray(), 0))
            raise
        finally:
            hashing.result()
            # The handle must be open as long as somebody flushes it.
            if sent is not None:
                sent.exception()
        if sent is not None:
            sent.result()
        return digest.hexdigest()

    def _hash(self, digest: hashlib._Hash, full: SimpleQueue[tuple[bytearray, int]]) -> None:
        while True:
            piece, count = full.get()
            digest.update(memoryview(piece)[:count])
            self._free.put(piece)
            if not count:
                return

    def look_again(self, target: Path, digest: str) -> None:
        """Read ``target`` behind what comes next, and compare. Raises what earlier looks found."""
        self._looks.append(self._reading.submit(self._compare, target, digest))
        while self._looks and self._looks[0].done():
            self._looks.popleft().result()

    def settle(self) -> None:
        """Wait for all looks. Raises IntegrityError (a copy that came back changed),
        StorageError."""
        while self._looks:
            self._looks.popleft().result()

    def _compare(self, target: Path, digest: str) -> None:
        if read_again(target, self._stop) != digest:
            raise IntegrityError(f"{target}: came back changed from the disk; use another disk")

    def close(self) -> None:
        """End what still runs; never raises."""
        self._stop.set()
        for pool in (self._hashing, self._flushing, self._reading):
            pool.shutdown(wait=True, cancel_futures=True)


def read_again(target: Path, stop: Event | None = None) -> str:
    """SHA-256 (hex) of a flushed file, from the disk. Raises StorageError, Interrupted."""
    digest = hashlib.sha256()
    try:
        handle = os.open(target, os.O_RDONLY | os.O_NOFOLLOW)
        try:
            # What was flushed leaves the computer's memory: what is read now is on the disk.
            if hasattr(os, "posix_fadvise"):
                os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
                os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_SEQUENTIAL)
            while data := os.read(handle, CHUNK):
                if stop is not None and stop.is_set():
                    raise Interrupted(f"{target}: reading again was stopped")
                digest.update(data)
        finally:
            os.close(handle)
    except OSError as error:
        raise storage_error(error, target) from None
    return digest.hexdigest()


def write_all(handle: int, data: bytes | memoryview) -> None:
    """All of ``data``, in as many writes as it takes. Raises OSError."""
    left = memoryview(data)
    while left:
        left = left[os.write(handle, left) :]


def read_into(handle: int, piece: bytearray, source: Path) -> int:
    """Bytes of an original that were read into ``piece``, 0 at its end. Raises IntegrityError."""
    try:
        return os.readv(handle, [piece])
    except OSError as error:
        raise IntegrityError(
            f"{source}: cannot be read to its end ({error.strerror}); look whether it is still "
            "connected, and if it is, copy the whole drive first"
        ) from None
