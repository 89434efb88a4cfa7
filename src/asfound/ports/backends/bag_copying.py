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
from threading import Event

from asfound.errors import IntegrityError, Interrupted
from asfound.ports.backends.disk import storage_error

CHUNK = 1 << 20
AHEAD = 4
"""So many pieces may wait for being hashed: they bound the memory."""
FLUSH_EVERY = 32 << 20


class Copier:
    """Copies into new files, and looks at the copies again. ``close`` ends its threads."""

    def __init__(self) -> None:
        self._hashing = ThreadPoolExecutor(1)
        self._flushing = ThreadPoolExecutor(1)
        self._reading = ThreadPoolExecutor(1)
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
        hashed: deque[Future[None]] = deque()
        sent: Future[None] | None = None
        waiting = 0
        try:
            while data := bytes_of(handle, source):
                hashed.append(self._hashing.submit(digest.update, data))
                if len(hashed) > AHEAD:
                    hashed.popleft().result()
                write_all(out, data)
                waiting += len(data)
                if waiting >= FLUSH_EVERY and (sent is None or sent.done()):
                    if sent is not None:
                        # What the disk refused is told once, to whoever flushed.
                        sent.result()
                    sent, waiting = self._flushing.submit(os.fdatasync, out), 0
        finally:
            # The handle must be open as long as somebody flushes it.
            if sent is not None:
                sent.exception()
        if sent is not None:
            sent.result()
        for one in hashed:
            one.result()
        return digest.hexdigest()

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


def write_all(handle: int, data: bytes) -> None:
    """All of ``data``, in as many writes as it takes. Raises OSError."""
    left = memoryview(data)
    while left:
        left = left[os.write(handle, left) :]


def bytes_of(handle: int, source: Path) -> bytes:
    """The next piece of an original. Raises IntegrityError."""
    try:
        return os.read(handle, CHUNK)
    except OSError as error:
        raise IntegrityError(
            f"{source}: cannot be read to its end ({error.strerror}); look whether it is still "
            "connected, and if it is, copy the whole drive first"
        ) from None
