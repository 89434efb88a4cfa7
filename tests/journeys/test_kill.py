"""A visit survives what happens at a roadside: kill -9, a full disk, a read-only disk."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest
from tests.visit_kit import opened

from asfound.errors import StorageError
from asfound.jobs.visit_act import AddNote, note
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.model.journal import chain_fault
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.store_sql import SqlStore

KILLS = 24
ROOT = Path(__file__).parents[2]

LAUNCHER = textwrap.dedent(
    """
    import os
    import sys
    from pathlib import Path

    from asfound.jobs.visit_act import AddNote, Settle, TickStep, note, settle, tick
    from asfound.jobs.visit_journal import load_visit
    from asfound.jobs.visit_record import RecordReading, record_as_found
    from tests.journeys.test_kill import desk_on
    from tests.visit_kit import MAP, VALUES, opened, reading

    def say(text):
        os.write(1, (text + " .\\n").encode())

    def act(visit):
        desk = desk_on(Path(sys.argv[1]))
        visit = visit or opened(desk).id
        state = load_visit(visit, store=desk.store, blobs=desk.blobs)

        def report(state):
            say(f"done {state.id} {state.entries} {state.head}")

        report(state)
        for step in ("locate", "power", "monitor"):
            if not state.is_done(step):
                state = tick(TickStep(visit, step, "ada"), desk=desk)
                report(state)
        number = state.entries
        while True:
            number += 1
            values = VALUES | {"camera-1.size": ("CIF", "HD")[number % 2]}
            made = reading(values, desk, doubts={"general.name": (str(number),)})
            report(record_as_found(RecordReading(visit, MAP, made, "ada"), desk=desk))
            report(settle(Settle(visit, MAP, "general.name", "AB", "bo"), desk=desk))
            report(note(AddNote(visit, "cy", f"round {number}"), desk=desk))

    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            act(line.strip())
        say(f"pid {child}")
        _, status = os.waitpid(child, 0)
        os.write(1, b"\\n")  # ends a line that the kill cut short
        say(f"dead {os.waitstatus_to_exitcode(status)}")
    """
)
"""Imports once, then forks a child for each line; each child acts on the visit until killed.
A line counts only with its full stop: what was cut short was never reported as done."""


def desk_on(home: Path) -> Desk:
    """A desk on a home folder, as the command line makes one."""
    store = SqlStore(f"sqlite:///{home / 'asfound.db'}")
    return Desk(store, FileBlobs(home / "blobs"), SystemClock())


def run_and_kill(
    launcher: subprocess.Popen[str], visit: str, delay_s: float
) -> list[tuple[str, int, str]]:
    """Let a child act on the visit, kill it ``delay_s`` after its first report; its reports."""
    assert launcher.stdin is not None and launcher.stdout is not None
    launcher.stdin.write(f"{visit}\n")
    launcher.stdin.flush()
    pid, killed = 0, False
    reports: list[tuple[str, int, str]] = []
    for line in launcher.stdout:
        match line.split():
            case ["pid", number, "."]:
                pid = int(number)
            case ["done", name, count, head, "."]:
                reports.append((name, int(count), head))
            case ["dead", code, "."]:
                assert int(code) == -signal.SIGKILL
                return reports
        if pid and reports and not killed:
            time.sleep(delay_s)
            os.kill(pid, signal.SIGKILL)
            killed = True
    raise AssertionError("the launcher ended by itself")


def test_a_visit_survives_kill_9_at_any_moment(tmp_path: Path) -> None:
    chance = random.Random(20261125)
    visit, most = "", 0
    with subprocess.Popen(
        [sys.executable, "-c", LAUNCHER, str(tmp_path)],
        cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    ) as launcher:  # fmt: skip
        for _ in range(KILLS):
            reports = run_and_kill(launcher, visit, chance.uniform(0.0, 0.2))
            visit = reports[-1][0]
            desk = desk_on(tmp_path)
            entries = desk.store.entries(visit)
            assert chain_fault(entries) is None
            for _, count, head in reports:
                assert entries[count - 1].hash == head  # reported as done: it is there
            state = load_visit(visit, store=desk.store, blobs=desk.blobs)
            assert state.entries == len(entries) >= max(most, *(count for _, count, _ in reports))
            most = len(entries)
    assert most > KILLS  # the children got somewhere between the kills
    assert check_visit(visit, store=desk.store, blobs=desk.blobs).faults == ()
    assert list(desk.store.visits()) == [visit]


FILL = textwrap.dedent(
    """
    import resource
    import signal
    import sys
    from pathlib import Path

    from asfound.errors import StorageError
    from asfound.jobs.visit_act import AddNote, note
    from tests.journeys.test_kill import desk_on

    desk = desk_on(Path(sys.argv[1]))
    size = (Path(sys.argv[1]) / "asfound.db").stat().st_size
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size + 40_000,) * 2)
    try:
        while True:
            state = note(AddNote(sys.argv[2], "ada", "x" * 3_000), desk=desk)
            print(state.entries, state.head, flush=True)
    except StorageError as error:
        print(error)
    """
)


def test_a_disk_that_takes_no_more_loses_nothing_that_was_done(tmp_path: Path) -> None:
    # RLIMIT_FSIZE: the kernel refuses to let the database or its log grow (EFBIG), which the
    # superuser cannot pass over as he can permission bits.
    desk = desk_on(tmp_path)
    visit = opened(desk).id
    done = subprocess.run(
        [sys.executable, "-c", FILL, str(tmp_path), visit],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    *reports, told = done.stdout.splitlines()
    assert told.startswith(f"{tmp_path / 'asfound.db'}: ") and "free some space" in told
    entries = desk.store.entries(visit)
    assert len(reports) >= 3
    for count, head in (line.split() for line in reports):
        assert entries[int(count) - 1].hash == head
    assert check_visit(visit, store=desk.store, blobs=desk.blobs).faults == ()
    # With room again the visit goes on where it stood.
    assert note(AddNote(visit, "ada", "go on"), desk=desk).entries == len(entries) + 1


def test_a_place_that_takes_no_files_is_told() -> None:
    # Permission bits do not bind the superuser, but the kernel lets nobody make files in /sys.
    before = sorted(Path("/sys").iterdir())
    with pytest.raises(StorageError, match=r"/sys/blobs"):
        FileBlobs(Path("/sys/blobs")).put(b"photograph")
    with pytest.raises(StorageError, match=r"/sys"):
        SqlStore("sqlite:////sys/home/asfound.db")
    assert sorted(Path("/sys").iterdir()) == before
