"""One contract over all back-ends of workers; losses over those that can take them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from distributed import LocalCluster
from tests.worker_tasks import MEGABYTE, Order, obey

from asfound.errors import Interrupted, NotFound, StorageError
from asfound.ports.backends import worker_process
from asfound.ports.backends.workers_dask import DaskWorkers
from asfound.ports.backends.workers_local import LocalWorkers
from asfound.ports.workers import Done, InTurn, Piece, Workers

ROOT = Path(__file__).parents[2]
MEMORY = 800 * MEGABYTE


@pytest.fixture(autouse=True)
def modules(monkeypatch: pytest.MonkeyPatch) -> None:
    """Worker processes look for modules where this process does."""
    monkeypatch.syspath_prepend(str(ROOT))


def nothing() -> None:
    """A beat that nobody hears."""


def run(workers: Workers, *orders: Order, quiet_s: float = 30, limit_s: float = 60) -> list[
    Done[Order, int]
]:  # fmt: skip
    return list(workers.run(obey, (Piece(one, quiet_s, limit_s) for one in orders), nothing))


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """Two Dask worker processes on this machine."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(ROOT))
        start: Any = LocalCluster
        made = start(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50)
    yield made
    made.close()


@pytest.fixture(params=["in-turn", "local", "dask"])
def anywhere(request: pytest.FixtureRequest) -> Workers:
    """Every back-end."""
    return InTurn() if request.param == "in-turn" else _apart(request)


@pytest.fixture(params=["local", "dask"])
def apart(request: pytest.FixtureRequest) -> Workers:
    """Every back-end that works in processes of its own."""
    return _apart(request)


def _apart(request: pytest.FixtureRequest) -> Workers:
    if request.param == "local":
        return LocalWorkers(2, MEMORY)
    address = request.getfixturevalue("cluster").scheduler_address.removeprefix("tcp://")
    return DaskWorkers(address, memory_bytes=MEMORY)


def test_every_piece_ends_once_with_its_own_result(anywhere: Workers) -> None:
    ends = run(anywhere, *(Order("square", number) for number in range(50)))
    assert sorted((end.piece.argument.number, end.result) for end in ends) == [
        (number, number**2) for number in range(50)
    ]
    assert not any(end.lost for end in ends)


def test_no_piece_no_end(anywhere: Workers) -> None:
    assert run(anywhere) == []


def test_pieces_are_taken_as_there_is_room(anywhere: Workers) -> None:
    taken = 0

    def pieces() -> Iterator[Piece[Order]]:
        nonlocal taken
        for number in range(1000):
            taken += 1
            yield Piece(Order("square", number))

    ends = anywhere.run(obey, pieces(), nothing)
    for _ in range(10):
        next(ends)
    assert taken < 50
    ends.close()


def test_what_nobody_raises_on_purpose_is_told_and_the_rest_goes_on(anywhere: Workers) -> None:
    bad, good = sorted(
        run(anywhere, Order("divide"), Order("square", 7)), key=lambda end: not end.lost
    )
    assert bad.result is None
    assert "ZeroDivisionError" in bad.lost and "worker_tasks.py" in bad.lost
    assert "\n" not in bad.lost
    assert good.result == 49


def test_what_is_raised_on_purpose_is_raised_here(anywhere: Workers) -> None:
    with pytest.raises(StorageError, match="the disk is full"):
        run(anywhere, Order("refuse"), Order("square", 1))


def test_a_beat_can_stop_it(anywhere: Workers) -> None:
    def stop() -> None:
        raise Interrupted("stopped")

    begun = time.monotonic()
    with pytest.raises(Interrupted):
        list(anywhere.run(obey, (Piece(Order("tick", n)) for n in range(9)), stop))
    assert time.monotonic() - begun < 10


@pytest.mark.parametrize(
    ("what", "says"),
    [("crash", "SIGSEGV"), ("exit", "code 3"), ("grow", "more memory")],
)
def test_a_death_takes_only_its_own_piece_along(
    apart: Workers, tmp_path: Path, what: str, says: str
) -> None:
    orders = [Order("square", 1), Order(what, 0, tmp_path), *(Order("square", n) for n in (2, 3))]
    ends = run(apart, *orders)
    assert sorted(end.result for end in ends if end.result is not None) == [1, 4, 9]
    [lost] = [end.lost for end in ends if end.result is None]
    assert says in lost
    assert len((tmp_path / f"{what}-0").read_text().split()) == 2, "tried once more"


def test_what_was_killed_once_is_done_at_the_second_try(apart: Workers, tmp_path: Path) -> None:
    [end] = run(apart, Order("kill-once", 5, tmp_path))
    assert (end.result, end.lost) == (25, "")


def test_a_silent_piece_is_ended(apart: Workers) -> None:
    begun = time.monotonic()
    ends = run(apart, Order("hang"), Order("square", 2), quiet_s=0.5)
    assert [end.lost for end in ends if end.result is None] == ["nothing was heard of it for 0 s"]
    assert {end.result for end in ends} == {None, 4}
    assert time.monotonic() - begun < 20


def test_signs_of_life_prolong_a_piece_up_to_its_limit(apart: Workers) -> None:
    # "tick" works for 2.4 s and says so every half second.
    [end] = run(apart, Order("tick", 6), quiet_s=1.5)
    assert end.result == 36
    [end] = run(apart, Order("tick-for-ever"), quiet_s=1.5, limit_s=1)
    assert "it took longer than 1 s" in end.lost


def test_what_a_library_prints_does_no_harm(
    apart: Workers, capfd: pytest.CaptureFixture[str]
) -> None:
    [end] = run(apart, Order("print", 3))
    assert end.result == 9
    assert capfd.readouterr() == ("", "")


def alive(pids: set[int]) -> set[int]:
    """Those that are still there."""
    found = set()
    for pid in pids:
        with suppress(ProcessLookupError):
            os.kill(pid, 0)
            found.add(pid)
    return found


def at_work(notes: Path) -> set[int]:
    """The processes that have begun a piece."""
    return {int(line) for note in notes.iterdir() for line in note.read_text().split()}


def test_nothing_is_left_over_when_it_is_stopped(tmp_path: Path) -> None:
    ends = LocalWorkers(2).run(
        obey, (Piece(Order("sleep", n, tmp_path)) for n in range(500)), nothing
    )
    next(ends)
    while len(at_work(tmp_path)) < 2:
        next(ends)
    threads = threading.active_count()
    ends.close()
    assert alive(at_work(tmp_path)) == set()
    assert threading.active_count() < threads


def test_a_worker_killed_from_outside_loses_nothing(tmp_path: Path) -> None:
    orders = [Order("sleep", number, tmp_path) for number in range(12)]
    ends = LocalWorkers(2).run(obey, (Piece(order) for order in orders), nothing)
    first = next(ends)
    victim = int((tmp_path / f"sleep-{first.piece.argument.number}").read_text())
    time.sleep(0.05)
    os.kill(victim, signal.SIGKILL)
    results = {end.result for end in (first, *ends)}
    assert results == {number**2 for number in range(12)}
    tries = {note.name: len(note.read_text().split()) for note in tmp_path.iterdir()}
    assert sum(tries.values()) <= 13, "only what the dead one was at is done again"


def test_modules_in_the_current_folder_are_never_loaded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The folder may be a drive that somebody else has written.
    for name in ("av", "pickle", "numpy", "queue"):
        (tmp_path / f"{name}.py").write_text("import os; os._exit(66)\n")
    monkeypatch.chdir(tmp_path)
    [end] = run(LocalWorkers(1), Order("square", 4))
    assert end.result == 16


def test_when_no_process_can_be_started_the_job_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worker_process, "PROGRAM", "asfound.no_such_program")
    with pytest.raises(NotFound, match="no worker process can be started"):
        run(LocalWorkers(2), Order("square"))


def test_processes_of_a_killed_job_end_by_themselves(tmp_path: Path) -> None:
    # A child of ours is killed as a whole; what it started has to notice.

    script = (
        "from pathlib import Path\n"
        "from asfound.ports.backends.workers_local import LocalWorkers\n"
        "from asfound.ports.workers import Piece\n"
        "from tests.worker_tasks import Order, obey\n"
        f"pieces = (Piece(Order('hang', n, Path({str(tmp_path)!r}))) for n in range(2))\n"
        "list(LocalWorkers(2).run(obey, pieces, lambda: None))\n"
    )
    job = subprocess.Popen([sys.executable, "-c", script], cwd=ROOT)
    deadline = time.monotonic() + 30
    while len(list(tmp_path.iterdir())) < 2 and time.monotonic() < deadline:
        time.sleep(0.1)
    job.kill()
    job.wait()
    pids = {int(note.read_text()) for note in tmp_path.iterdir()}
    assert len(pids) == 2
    while alive(pids) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert alive(pids) == set()
