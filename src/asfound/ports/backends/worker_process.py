"""One worker process as seen from outside: started when needed, ended when it must be."""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any

from asfound.errors import AsfoundError, NotFound
from asfound.ports.backends.worker_child import Setup, receive, send, send_bytes
from asfound.ports.workers import TRIES, Done, Piece, Work

START_S = 120.0
"""A process that has not loaded the program by then never will [s]."""

MEMORY_BYTES = 3 << 30
"""Memory of one worker process. Decoding 8K H.265 with all reference pictures takes half."""

PROGRAM = "asfound.ports.backends.worker_child"

ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "OPENCV_FOR_THREADS_NUM": "1"}
"""There is a process for each core already."""

Reply = tuple[str, Any]


def pack(work: Work[Any, Any], memory_bytes: int = MEMORY_BYTES) -> bytes:
    """The first message to a worker process, pickled. Raises what pickling raises."""
    modules = tuple(str(Path(path).absolute()) for path in sys.path)
    return pickle.dumps(Setup(modules, memory_bytes, pickle.dumps(work)))


class WorkerProcess:
    """A process that does one work, piece by piece. A new one replaces one that ended."""

    def __init__(self, setup: bytes) -> None:
        self._setup = setup
        self._process: subprocess.Popen[bytes] | None = None
        self._inbox: SimpleQueue[bytes | None] = SimpleQueue()
        self._lock = threading.Lock()
        self._closed = False

    def attempt(self, piece: Piece[Any]) -> Done[Any, Any]:
        """The piece's end, tried again when it is lost. Raises AsfoundErrors of the piece, and
        NotFound when no process can be started."""
        lost = ""
        for _ in range(TRIES):
            word, value = self._call(piece)
            if word == "done":
                return Done(piece, value)
            if isinstance(value, AsfoundError):
                raise value
            lost = str(value)
        return Done(piece, None, lost)

    def close(self) -> None:
        """End the process, whatever it is at. No other will be started."""
        with self._lock:
            self._closed = True
        self._end()

    def _call(self, piece: Piece[Any]) -> Reply:
        process, inbox = self._ready()
        if process is None or process.stdin is None:
            return "lost", "stopped"
        try:
            send(process.stdin, piece.argument)
        except OSError:
            return self._gone()
        begun = heard = time.monotonic()
        while True:
            patience = min(heard + piece.quiet_s, begun + piece.limit_s) - time.monotonic()
            try:
                reply = inbox.get(timeout=max(0.0, patience))
            except Empty:
                self._end()
                if time.monotonic() - begun >= piece.limit_s:
                    return "lost", f"it took longer than {piece.limit_s:.0f} s"
                return "lost", f"nothing was heard of it for {piece.quiet_s:.0f} s"
            if reply is None:
                return self._gone()
            word, value = pickle.loads(reply)
            if word != "beat":
                return word, value
            heard = time.monotonic()

    def _ready(self) -> tuple[subprocess.Popen[bytes] | None, SimpleQueue[bytes | None]]:
        """The process, started if need be, and what comes from it; None when it is closed."""
        with self._lock:
            if self._process is not None or self._closed:
                return self._process, self._inbox
            process = self._process = _started()
            inbox = self._inbox = SimpleQueue()
        threading.Thread(target=_hear, args=(process, inbox), daemon=True).start()
        reply: bytes | None = None
        with suppress(OSError, Empty):
            if process.stdin is not None:
                send_bytes(process.stdin, self._setup)
            reply = inbox.get(timeout=START_S)
        word, why = self._gone() if reply is None else pickle.loads(reply)
        if word == "ready" or self._closed:
            return process, inbox
        self._end()
        raise NotFound(f"no worker process can be started ({why}); try --workers 0")

    def _gone(self) -> Reply:
        """How the process ended; it is ended where it has not."""
        process = self._process
        code = 0
        if process is not None:
            with suppress(subprocess.TimeoutExpired):
                code = process.wait(timeout=5)
        self._end()
        return "lost", _ended(code)

    def _end(self) -> None:
        with self._lock:
            process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.wait()


def _ended(code: int) -> str:
    """What an exit code says; negative ones are signals (subprocess.Popen.returncode)."""
    if code >= 0:
        return f"its program ended by itself (code {code})"
    try:
        name = signal.Signals(-code).name
    except ValueError:
        name = f"signal {-code}"
    if name == "SIGKILL":
        return "its program was killed (SIGKILL): by the system when memory ran out?"
    return f"its program crashed ({name})"


def _started() -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        # -P: nothing that lies in the current folder, a drive's perhaps, is taken for a module.
        [sys.executable, "-P", "-m", PROGRAM],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **ONE_THREAD},
        # Ctrl-C at the terminal is for the program that started it.
        start_new_session=True,
    )


def _hear(process: subprocess.Popen[bytes], inbox: SimpleQueue[bytes | None]) -> None:
    """Pass on what the process says, and None when it has gone."""
    if process.stdout is None or process.stdin is None:
        return
    with process.stdout as pipe:
        while (data := receive(pipe)) is not None:
            inbox.put(data)
    process.wait()
    with suppress(OSError):
        process.stdin.close()
    inbox.put(None)
