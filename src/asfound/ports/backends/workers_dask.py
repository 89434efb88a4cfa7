"""Workers of a Dask cluster: many machines that see the same files at the same paths.

On each of them a piece is done in a worker process of its own (worker_process), so that a crash
or a hang costs that piece only. When a whole Dask worker goes, Dask gives what it was at to
another one, and nothing else is done again.
"""

from __future__ import annotations

import logging
import os
import signal
import sys
import threading
from collections.abc import Generator, Iterable, Iterator
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import resource_tracker
from queue import Empty, SimpleQueue
from typing import Any, cast

from asfound.errors import AsfoundError, MissingPart, NotFound
from asfound.ports.backends.code_version import code_version
from asfound.ports.backends.worker_process import MEMORY_BYTES, WorkerProcess, pack
from asfound.ports.backends.workers_local import usable_cores
from asfound.ports.workers import A, Beat, Done, Piece, R, Work, raised

BEAT_S = 0.25
LOOPBACK = "127.0.0.1"
CONNECT_S = 20.0

SAFE_PATH = "PYTHONSAFEPATH"
"""What Python's own -P is called in the environment."""

AHEAD = 2
"""Pieces that are handed over ahead for each thread of the cluster."""


class DaskWorkers:
    """The cluster whose scheduler listens at ``address`` (HOST:PORT), or, for "", one of
    ``count`` processes on this machine (0: one for each core), ended with the work.

    Raises MissingPart when Dask is not installed.
    """

    def __init__(self, address: str, count: int = 0, memory_bytes: int = MEMORY_BYTES) -> None:
        try:
            self._dask: Any = import_module("distributed")
        except ImportError:
            raise MissingPart(
                "--workers dask: Dask is not installed; pip install 'asfound[dask]'"
            ) from None
        self._address = address
        self._count = count or usable_cores()
        self._memory_bytes = memory_bytes

    def run(
        self, work: Work[A, R], pieces: Iterable[Piece[A]], beat: Beat
    ) -> Generator[Done[A, R], None, None]:
        """As ports.workers.Workers.run."""
        setup = pack(work, self._memory_bytes)
        with self._cluster() as cluster:
            client = self._connected(cluster)
            try:
                version = code_version() if self._address else ""
                yield from _Run(client, setup, version, self._place()).through(pieces, beat)
            finally:
                client.close()

    def _place(self) -> str:
        return f"dask://{self._address}" if self._address else "the Dask cluster of this machine"

    @contextmanager
    def _cluster(self) -> Iterator[Any]:
        """A cluster of this machine's own, unless there is an address."""
        if self._address:
            yield None
            return
        with _no_modules_from_here():
            with _without_interrupts():
                cluster = self._dask.LocalCluster(
                    n_workers=self._count,
                    threads_per_worker=1,
                    dashboard_address=None,
                    # Its web server starts all the same: on a port that nobody else has, else it
                    # warns beside a second cluster of this machine.
                    scheduler_kwargs={"dashboard_address": f"{LOOPBACK}:0"},
                    silence_logs=logging.CRITICAL,
                )
            with cluster:
                yield cluster

    def _connected(self, cluster: Any) -> Any:
        # What it would print of lost machines is told by the results.
        logging.getLogger("distributed").setLevel(logging.CRITICAL)
        where = cluster if cluster is not None else f"tcp://{self._address}"
        client = None
        try:
            client = self._dask.Client(where, timeout=CONNECT_S, set_as_default=False)
            client.wait_for_workers(1, timeout=CONNECT_S)
        except (OSError, ValueError, TimeoutError) as error:
            if client is not None:
                client.close()
            what = "has no worker" if client is not None else "does not answer"
            raise NotFound(
                f"{self._place()} {what} ({type(error).__name__}); start it, or check the address"
            ) from None
        return client


@contextmanager
def _no_modules_from_here() -> Iterator[None]:
    """Nothing that lies in the current folder, a drive's perhaps, is taken for a module by the
    processes that a cluster starts, now or later."""
    before = os.environ.get(SAFE_PATH)
    os.environ[SAFE_PATH] = "1"
    try:
        yield
    finally:
        if before is None:
            del os.environ[SAFE_PATH]
        else:
            os.environ[SAFE_PATH] = before


@contextmanager
def _without_interrupts() -> Iterator[None]:
    """Ctrl-C waits, and never reaches processes and threads that are started meanwhile: they
    inherit the signal mask (POSIX, pthread_sigmask). They are ended by their cluster."""
    if sys.platform == "win32":
        yield
        return
    # Its first start lets interrupts through again in whatever thread that happens in.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class _Run:
    """One work on one cluster."""

    def __init__(self, client: Any, setup: bytes, version: str, place: str) -> None:
        self._client = client
        self._setup = setup
        self._version = version
        self._place = place
        self._ends: SimpleQueue[Any] = SimpleQueue()
        self._under_way: dict[str, tuple[Piece[Any], Any]] = {}

    def through(self, pieces: Iterable[Piece[A]], beat: Beat) -> Generator[Done[A, R], None, None]:
        """Each piece's end."""
        source = iter(pieces)
        more, room = True, self._room()
        while True:
            while more and len(self._under_way) < room:
                piece = next(source, None)
                more = piece is not None
                if piece is not None:
                    self._give(piece)
            if not self._under_way:
                return
            try:
                future = self._ends.get(timeout=BEAT_S)
            except Empty:
                future, room = None, self._room()
            beat()
            if future is not None and (end := self._end(future)) is not None:
                yield cast(Done[A, R], end)

    def _room(self) -> int:
        """Pieces that may be under way: machines come and go."""
        if self._client.status != "running":
            raise NotFound(
                f"{self._place} has gone; what was finished is kept, start it and run this again"
            )
        threads: int = sum(self._client.nthreads().values())
        return max(1, threads * AHEAD)

    def _give(self, piece: Piece[Any]) -> None:
        future = self._client.submit(_piece, self._setup, piece, self._version, pure=False)
        self._under_way[future.key] = (piece, future)
        future.add_done_callback(self._ends.put)

    def _end(self, future: Any) -> Done[Any, Any] | None:
        piece, _ = self._under_way.pop(future.key)
        try:
            result, lost = future.result()
        except AsfoundError:
            raise
        except Exception as error:
            if future.status == "cancelled":
                raise NotFound(
                    f"{self._place} has gone; what was finished is kept, start it and run again"
                ) from None
            return Done(piece, None, _reason(error))
        return Done(piece, result, lost)


def _reason(error: Exception) -> str:
    if type(error).__name__ == "KilledWorker":
        return "every machine that it was given to went away"
    return raised(error)


_lock = threading.Lock()
_idle: list[tuple[bytes, WorkerProcess]] = []
"""Processes on a Dask worker that wait for the next piece, with the setup they were made for."""


def _piece(setup: bytes, piece: Piece[Any], version: str) -> tuple[Any, str]:
    """Runs on a Dask worker: (result, why lost) of a piece. Raises MissingPart where another
    ``version`` of the program is installed than on the machine that asks ("": the same one)."""
    if version and code_version() != version:
        raise MissingPart(
            "a machine of the cluster has another version of asfound or of its libraries "
            f"({code_version()[:24]}…, here {version[:24]}…); install the same on all"
        )
    process = _process_for(setup)
    try:
        done = process.attempt(piece)
    except BaseException:
        process.close()
        raise
    with _lock:
        _idle.append((setup, process))
    return done.result, done.lost


def _process_for(setup: bytes) -> WorkerProcess:
    """A process that waits for this work, else a new one; those for other works are ended."""
    with _lock:
        waiting, _idle[:] = list(_idle), []
        mine = [process for made_for, process in waiting if made_for == setup]
        _idle.extend((setup, process) for process in mine[1:])
    for made_for, process in waiting:
        if made_for != setup:
            process.close()
    return mine[0] if mine else WorkerProcess(setup)
