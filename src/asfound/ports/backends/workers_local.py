"""Workers as processes of this machine, one for each core."""

from __future__ import annotations

import os
import threading
from collections.abc import Generator, Iterable
from queue import Empty, Queue, SimpleQueue
from typing import Any, cast

from asfound.ports.backends.worker_process import MEMORY_BYTES, WorkerProcess, pack
from asfound.ports.workers import A, Beat, Done, Piece, R, Work

BEAT_S = 0.25

AHEAD = 2
"""Pieces that are taken ahead for each process, so that none waits."""


def usable_cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class LocalWorkers:
    """``count`` processes (0: one for each core that may be used), started as pieces come.
    ``memory_bytes`` bounds each of them where the system can (Linux)."""

    def __init__(self, count: int = 0, memory_bytes: int = MEMORY_BYTES) -> None:
        self.count = count or usable_cores()
        self.memory_bytes = memory_bytes

    def run(
        self, work: Work[A, R], pieces: Iterable[Piece[A]], beat: Beat
    ) -> Generator[Done[A, R], None, None]:
        """As ports.workers.Workers.run."""
        team = _Team(pack(work, self.memory_bytes), self.count)
        source = iter(pieces)
        under_way, more = 0, True
        try:
            while True:
                while more and under_way < self.count * AHEAD:
                    piece = next(source, None)
                    more = piece is not None
                    if piece is not None:
                        team.give(piece)
                        under_way += 1
                if not under_way:
                    return
                end = team.next_end()
                beat()
                if isinstance(end, BaseException):
                    raise end
                if end is not None:
                    under_way -= 1
                    yield cast(Done[A, R], end)
        finally:
            team.close()


class _Team:
    """Threads that each wait for one process."""

    def __init__(self, setup: bytes, count: int) -> None:
        self._todo: Queue[Piece[Any] | None] = Queue()
        self._ends: SimpleQueue[Done[Any, Any] | BaseException] = SimpleQueue()
        self._setup, self._count = setup, count
        self._processes: list[WorkerProcess] = []
        self._threads: list[threading.Thread] = []

    def give(self, piece: Piece[Any]) -> None:
        """Have a piece done, by a new process if all are busy and there may be one more."""
        self._todo.put(piece)
        if len(self._threads) < self._count:
            process = WorkerProcess(self._setup)
            thread = threading.Thread(target=self._serve, args=(process,), daemon=True)
            self._processes.append(process)
            self._threads.append(thread)
            thread.start()

    def next_end(self) -> Done[Any, Any] | BaseException | None:
        """What ended next; None when nothing does for a moment."""
        try:
            return self._ends.get(timeout=BEAT_S)
        except Empty:
            return None

    def close(self) -> None:
        """End all processes at once."""
        for _ in self._threads:
            self._todo.put(None)
        for process in self._processes:
            process.close()
        for thread in self._threads:
            thread.join()

    def _serve(self, process: WorkerProcess) -> None:
        while (piece := self._todo.get()) is not None:
            try:
                self._ends.put(process.attempt(piece))
            except Exception as error:
                self._ends.put(error)
