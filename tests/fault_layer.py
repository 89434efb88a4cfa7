"""The system's calls that change files, counted, and failing or killing at number ``at`` (tests
only): every change goes through ``os``, also from pathlib and shutil.

``killed_at_each`` forks a child for each number and lets it kill itself with SIGKILL there; it is
meant to be called in a process of one thread (``python -m tests.fault_layer NAME FOLDER``).
"""

from __future__ import annotations

import errno
import importlib
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

CHANGES = ("open", "write", "fsync", "fdatasync", "mkdir", "rename", "unlink", "rmdir", "utime")
ROOM = ("open", "write", "fsync", "fdatasync", "mkdir")
READS = ("read", "readv", "preadv", "scandir", "stat", "fstatvfs")
ROOT = Path(__file__).parent.parent


@dataclass
class Layer:
    """What happens at change number ``at`` (from 1).

    ``how``: "kill" before it; "half" kills after half of write number ``at``; "once" refuses
    with ``code`` one time; "full" refuses with it all that needs room from then on; "gone" every
    call from then on, reading as well.
    """

    at: int
    how: str
    code: int = errno.EIO
    count: int = 0

    def install(self, put: Callable[[Any, str, Any], None]) -> None:
        """Put it between; ``put`` as ``setattr``, or a monkeypatch's."""
        for name in CHANGES + (READS if self.how == "gone" else ()):
            put(os, name, self._wrapped(name, getattr(os, name)))

    def _wrapped(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **more: Any) -> Any:
            changes = name not in READS
            if name == "open":
                flags = args[1] if len(args) > 1 else more["flags"]
                changes = bool(flags & os.O_CREAT)
            # Half a write is one of its own; elsewhere there is nothing to halve.
            if changes and (self.how != "half" or name == "write"):
                self.count += 1
                if self.count == self.at and self.how in ("kill", "half"):
                    if self.how == "half" and name == "write":
                        real(args[0], bytes(args[1])[: len(args[1]) // 2])
                    os.kill(os.getpid(), signal.SIGKILL)
            if self._refuses(name, changes):
                raise OSError(self.code, os.strerror(self.code))
            return real(*args, **more)

        return call

    def _refuses(self, name: str, changes: bool) -> bool:
        if self.how == "once":
            return changes and self.count == self.at
        if self.how == "full":
            return changes and self.count >= self.at and name in ROOM
        return self.how == "gone" and self.count >= self.at


@contextmanager
def quick_folder() -> Iterator[Path]:
    """A folder in memory where there is one: a flush costs nothing there, and hundreds are done."""
    memory = Path("/dev/shm")
    where = memory if os.access(memory, os.W_OK) else None
    with TemporaryDirectory(prefix="asfound-test-", dir=where) as name:
        yield Path(name)


def killed_at_each(where: str, before: str, folder: Path, how: str) -> int:
    """``where.act(folder/how-N)`` killed at change N, for every N; how many there are. ``before``
    ("": nothing): a function that is called with the folder first, and not killed."""
    module = importlib.import_module(where)
    at = 0
    while True:
        at += 1
        place = folder / f"{how}-{at}"
        place.mkdir()
        if before:
            getattr(module, before)(place)
        child = os.fork()
        if not child:
            try:
                Layer(at, how).install(setattr)
                module.act(place)
            except BaseException as error:
                sys.stderr.write(f"{type(error).__name__}: {error}\n")
                os._exit(1)
            os._exit(0)
        _, status = os.waitpid(child, 0)
        if status == 0:
            return at - 1
        assert os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL, status


def all_killed(where: str, folder: Path, before: str = "") -> list[Path]:
    """``killed_at_each`` in a process of its own, before changes and in the middle of writes; the
    folders."""
    call = [sys.executable, "-m", "tests.fault_layer", where, before, str(folder)]
    folders = os.environ.get("PYTHONPATH", "").split(os.pathsep)
    told = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "src"), *folders])}
    done = subprocess.run(call, capture_output=True, text=True, check=False, cwd=ROOT, env=told)
    assert done.returncode == 0, done.stderr
    kill, half = (int(one) for one in done.stdout.split())
    return [folder / f"{how}-{at}" for how, most in (("kill", kill), ("half", half))
            for at in range(1, most + 1)]  # fmt: skip


if __name__ == "__main__":
    named, first, at = sys.argv[1:]
    counts = [killed_at_each(named, first, Path(at), how) for how in ("kill", "half")]
    sys.stdout.write(" ".join(str(one) for one in counts))
