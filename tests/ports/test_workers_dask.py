"""A Dask cluster that loses a worker, is not there, goes away, or runs something else.

What Dask does when a worker goes: https://distributed.dask.org/en/stable/resilience.html (the
tasks it was running are run again elsewhere; allowed-failures, 3 by default).
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from socket import socket

import pytest
from tests.worker_tasks import Order, obey

from asfound.errors import MissingPart, NotFound
from asfound.ports.backends import workers_dask
from asfound.ports.backends.workers_dask import DaskWorkers
from asfound.ports.workers import Piece

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def modules(monkeypatch: pytest.MonkeyPatch) -> None:
    """Worker processes look for modules where this process does."""
    monkeypatch.syspath_prepend(str(ROOT))


def nothing() -> None:
    """A beat that nobody hears."""


def parent(pid: int) -> int:
    """The process that started it (proc(5))."""
    status = Path(f"/proc/{pid}/status").read_text()
    return int(status.split("PPid:")[1].split()[0])


def test_a_dask_worker_that_is_killed_costs_only_what_it_was_at(tmp_path: Path) -> None:
    orders = [Order("sleep", number, tmp_path) for number in range(14)]
    ends = DaskWorkers("", 2).run(obey, (Piece(order) for order in orders), nothing)
    first = next(ends)
    note = tmp_path / f"sleep-{first.piece.argument.number}"
    # The process that the piece was done in is a child of the Dask worker.
    victim = parent(int(note.read_text()))
    assert victim != os.getpid()
    time.sleep(0.1)
    os.kill(victim, signal.SIGKILL)
    done = [first, *ends]
    assert sorted(end.result or 0 for end in done) == [number**2 for number in range(14)]
    tries = sum(len(path.read_text().split()) for path in tmp_path.iterdir())
    assert 14 <= tries <= 15


def test_modules_in_the_current_folder_are_never_loaded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("av", "pickle", "numpy", "queue", "asyncio"):
        (tmp_path / f"{name}.py").write_text("import os; os._exit(66)\n")
    monkeypatch.chdir(tmp_path)
    [end] = DaskWorkers("", 1).run(obey, [Piece(Order("square", 4))], nothing)
    assert end.result == 16
    assert "PYTHONSAFEPATH" not in os.environ


def test_a_second_cluster_of_this_machine_says_nothing() -> None:
    """Dask's web server would listen on port 8787, and warn when somebody does already; a warning
    is an error here."""
    with socket() as first:
        # Taken by another test at this moment, it is taken all the same.
        with suppress(OSError):
            first.bind(("127.0.0.1", 8787))
            first.listen()
        [end] = DaskWorkers("", 1).run(obey, [Piece(Order("square", 4))], nothing)
    assert end.result == 16


@contextmanager
def scheduler() -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """A scheduler in a process of its own, with one worker in the same."""
    script = (
        "import time\nfrom distributed import LocalCluster\n"
        "made = LocalCluster(n_workers=1, threads_per_worker=1, processes=False,"
        " dashboard_address=None, protocol='tcp', host='127.0.0.1')\n"
        "print(made.scheduler_address, flush=True)\ntime.sleep(600)\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script], stdout=subprocess.PIPE, text=True, cwd=ROOT
    ) as process:
        assert process.stdout is not None
        try:
            yield process.stdout.readline().strip().removeprefix("tcp://"), process
        finally:
            process.kill()


def test_a_scheduler_that_goes_away_is_said(tmp_path: Path) -> None:
    with scheduler() as (address, process):
        pieces = (Piece(Order("sleep", number)) for number in range(100))
        ends = DaskWorkers(address).run(obey, pieces, nothing)
        assert next(ends).result is not None
        process.kill()
        with pytest.raises(NotFound, match="has gone"):
            list(ends)


def test_a_machine_with_another_version_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers_dask, "code_version", lambda: "0.0.0; of another day")
    with scheduler() as (address, _), pytest.raises(MissingPart, match="another version"):
        list(DaskWorkers(address).run(obey, [Piece(Order("square"))], nothing))


def test_no_scheduler_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers_dask, "CONNECT_S", 1.0)
    # Port 9 (discard, RFC 863): nobody listens there.
    with pytest.raises(NotFound, match=r"dask://127\.0\.0\.1:9 does not answer"):
        list(DaskWorkers("127.0.0.1:9").run(obey, [Piece(Order("square"))], nothing))


def test_dask_that_is_not_installed_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(MissingPart, match=r"pip install 'asfound\[dask\]'"):
        DaskWorkers("")
