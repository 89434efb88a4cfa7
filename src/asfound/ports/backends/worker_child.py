"""The program that a worker process runs: one piece after the other, until its input ends.

Messages both ways are a length (8 bytes, big endian) and a pickle. In: ``Setup``, then the
arguments. Out: pairs of a word and a value: ready, beat, done (result), raised (an AsfoundError),
lost (why). Started by asfound.ports.backends.worker_process only.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
import threading
import time
from dataclasses import dataclass
from queue import SimpleQueue
from typing import IO, Any

from asfound.errors import AsfoundError
from asfound.ports.workers import raised

if sys.platform != "win32":
    import resource

BEAT_S = 0.5
"""Signs of life are passed on at most this often [s]."""


@dataclass(frozen=True, slots=True)
class Setup:
    """What a worker process is told first: where modules lie, how much memory it may take
    [bytes] (0: any), and the pickled work."""

    modules: tuple[str, ...]
    memory_bytes: int
    work: bytes


def send(pipe: IO[bytes], message: object) -> None:
    """Write one message."""
    send_bytes(pipe, pickle.dumps(message, pickle.HIGHEST_PROTOCOL))


def send_bytes(pipe: IO[bytes], data: bytes) -> None:
    """Write one message that is pickled already."""
    pipe.write(len(data).to_bytes(8, "big") + data)
    pipe.flush()


def receive(pipe: IO[bytes]) -> bytes | None:
    """The pickle of the next message; None at the end."""
    head = pipe.read(8)
    if len(head) < 8:
        return None
    size = int.from_bytes(head, "big")
    data = pipe.read(size)
    return data if len(data) == size else None


def main() -> None:
    """Work until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    out = os.fdopen(os.dup(1), "wb")
    # Whatever a library prints must not get between the messages.
    os.dup2(2, 1)
    inbox: SimpleQueue[bytes] = SimpleQueue()
    threading.Thread(target=_listen, args=(inbox,), daemon=True).start()
    setup: Setup = pickle.loads(inbox.get())
    sys.path.extend(path for path in setup.modules if path not in sys.path)
    try:
        work = pickle.loads(setup.work)
    except Exception as error:
        send(out, ("broken", raised(error)))
        return
    if setup.memory_bytes and sys.platform != "win32":
        # Counts all private memory since Linux 4.7 (setrlimit(2)).
        resource.setrlimit(resource.RLIMIT_DATA, (setup.memory_bytes, setup.memory_bytes))
    send(out, ("ready", None))
    while True:
        argument = pickle.loads(inbox.get())
        _reply(out, _one(work, argument, _Beat(out)))


def _listen(inbox: SimpleQueue[bytes]) -> None:
    """Pass messages on. When there will be no more, nobody waits for results: end at once."""
    with os.fdopen(os.dup(0), "rb") as source:
        while (data := receive(source)) is not None:
            inbox.put(data)
    os._exit(0)


class _Beat:
    def __init__(self, out: IO[bytes]) -> None:
        self._out = out
        self._last = 0.0

    def __call__(self) -> None:
        now = time.monotonic()
        if now - self._last >= BEAT_S:
            self._last = now
            send(self._out, ("beat", None))


def _one(work: Any, argument: object, beat: _Beat) -> tuple[str, object]:
    try:
        return "done", work(argument, beat)
    except AsfoundError as error:
        return "raised", error
    except Exception as error:
        return "lost", raised(error)


def _reply(out: IO[bytes], reply: tuple[str, object]) -> None:
    try:
        send(out, reply)
    except (pickle.PicklingError, AttributeError, TypeError) as error:
        send(out, ("lost", raised(error)))


if __name__ == "__main__":
    main()
