"""Many files: each once and in order, looked at by workers, remembered, stopped and resumed.

What is true of a filmed file is what the simulator was told to put in.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from tests.counting_video import Counting
from tests.memory_blobs import Memory
from tests.worker_tasks import Fragile

from asfound.demo.footage import Camera, Drive, Fault, film
from asfound.errors import Interrupted, NotFound
from asfound.jobs.prove import Prove, prove
from asfound.jobs.prove_file import Gathered, time_limits
from asfound.jobs.prove_files import Helpers, items
from asfound.model.finding import Expectation, ExpectedChannel, Kind, Proof
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.results_sqlite import SqliteResults
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.backends.workers_local import LocalWorkers
from asfound.ports.blobs import Blobs
from asfound.ports.video import FileFacts, Video
from asfound.ports.workers import InTurn

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
SMALL = Camera(1, "ROAD", "road", 160, 96, 10)


def old(*paths: Path) -> None:
    """As if they had been written a while ago."""
    for path in paths:
        os.utime(path, (1_700_000_000, 1_700_000_000))


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    """Three short files of one channel, the second one black at its end."""
    folder = tmp_path / "drive"
    camera = replace(SMALL, faults=(Fault("black", 3.4, 6),))
    old(*film(Drive(4, START, 9, (camera,), file_seconds=3), folder))
    return folder


@pytest.fixture
def results(tmp_path: Path) -> Iterator[SqliteResults]:
    made = SqliteResults(tmp_path / "home" / "proofs.db", pytest.fail)
    yield made
    made.close()


def look(
    folder: Path,
    helpers: Helpers,
    video: Video | None = None,
    expectation: Expectation | None = None,
    blobs: Blobs | None = None,
) -> Proof:
    return prove(
        Prove((folder,), expectation or Expectation(max_gap_s=1.0)),
        video=video or AvVideo(),
        pictures=PillowPictures(),
        blobs=blobs,
        helpers=helpers,
    )


def test_worker_processes_find_what_this_process_finds(drive: Path) -> None:
    here, there = Memory(), Memory()
    one = look(drive, Helpers(InTurn()), blobs=here)
    two = look(drive, Helpers(LocalWorkers(2)), blobs=there)
    assert one == two
    assert here.kept == there.kept and here.kept
    assert [len(recording.findings) for recording in one.recordings] == [0, 1, 0]


def test_only_new_and_changed_files_are_looked_at_again(
    drive: Path, results: SqliteResults, tmp_path: Path
) -> None:
    first = look(drive, Helpers(results=results))
    video = Counting()
    assert look(drive, Helpers(results=results), video) == first
    assert video.opened == []
    names = sorted(path.name for path in drive.iterdir())
    last = drive / names[2]
    data = last.read_bytes()
    last.write_bytes(data[: len(data) // 2])
    old(last)
    new = drive / "cam2_20260301T080000Z.mp4"
    new.write_bytes(data + b"more")
    old(new)
    look(drive, Helpers(results=results), video)
    assert video.opened == [names[2], new.name]
    drive.rename(tmp_path / "elsewhere")
    again = look(tmp_path / "elsewhere", Helpers(results=results), video)
    assert video.opened == [names[2], new.name], "content counts, not where it lies"
    assert {Path(one.file).parent.name for one in again.recordings} == {"elsewhere"}


def test_fresh_looks_at_everything(drive: Path, results: SqliteResults) -> None:
    first = look(drive, Helpers(results=results))
    video = Counting()
    assert look(drive, Helpers(results=results, fresh=True), video) == first
    assert len(video.opened) == 3


def test_what_is_expected_may_change_without_another_look(
    drive: Path, results: SqliteResults
) -> None:
    look(drive, Helpers(results=results))
    video = Counting()
    wanted = Expectation((ExpectedChannel(1, width=640, height=360),), max_gap_s=1.0)
    proof = look(drive, Helpers(results=results), video, wanted)
    assert [Kind.WRONG_SIZE in {f.kind for f in one.findings} for one in proof.recordings] == [
        True, True, True,
    ]  # fmt: skip
    assert video.opened == []
    look(drive, Helpers(results=results), video, replace(wanted, max_gap_s=0.2))
    assert len(video.opened) == 3, "the longest gap counts inside files, too"


def test_another_version_looks_again(
    drive: Path, results: SqliteResults, monkeypatch: pytest.MonkeyPatch
) -> None:
    look(drive, Helpers(results=results))
    monkeypatch.setattr(results, "version", lambda: "another")
    video = Counting()
    look(drive, Helpers(results=results), video)
    assert len(video.opened) == 3


def test_a_look_without_its_pictures_is_no_use(drive: Path, results: SqliteResults) -> None:
    blobs, video = Memory(), Counting()
    look(drive, Helpers(results=results))
    first = look(drive, Helpers(results=results), video, blobs=blobs)
    assert len(video.opened) == 3, "looked at without keeping pictures before"
    assert look(drive, Helpers(results=results), video, blobs=blobs) == first
    assert len(video.opened) == 3
    blobs.remove(first.recordings[1].findings[0].evidence)
    assert look(drive, Helpers(results=results), video, blobs=blobs) == first
    assert len(video.opened) == 4
    assert first.recordings[1].findings[0].evidence in blobs.kept


def test_a_remembered_look_that_is_none_is_passed_over(drive: Path, tmp_path: Path) -> None:
    said: list[str] = []
    results = SqliteResults(tmp_path / "home" / "proofs.db", said.append)
    first = look(drive, Helpers(results=results))

    class Odd(SqliteResults):
        def get(self, key: str) -> bytes | None:
            return b'{"facts": 7}'

    odd = Odd(tmp_path / "home" / "proofs.db", said.append)
    assert look(drive, Helpers(results=odd)) == first
    assert len(said) == 1 and "looking again" in said[0]
    results.close()
    odd.close()


def test_what_was_finished_when_it_was_stopped_is_kept(drive: Path, results: SqliteResults) -> None:
    def stop(done: int, total: int, what: str) -> None:
        assert total == 3
        if done == 2:
            raise Interrupted("stopped")

    request = Prove((drive,), Expectation(max_gap_s=1.0))
    with pytest.raises(Interrupted):
        prove(
            request,
            video=AvVideo(),
            pictures=PillowPictures(),
            progress=stop,
            helpers=Helpers(results=results),
        )
    video = Counting()
    look(drive, Helpers(results=results), video)
    assert len(video.opened) == 1


def test_a_file_that_changes_while_it_is_looked_at_is_not_remembered(
    drive: Path, results: SqliteResults
) -> None:
    class Growing(AvVideo):
        def facts(self, path: Path) -> FileFacts:
            made = super().facts(path)
            with path.open("ab") as file:
                file.write(b"more")
            old(path)
            return made

    look(drive, Helpers(results=results), Growing())
    video = Counting()
    look(drive, Helpers(results=results), video)
    assert len(video.opened) == 3


def test_a_decoder_that_dies_of_a_file_is_a_finding_of_that_file(
    drive: Path, results: SqliteResults, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(str(Path(__file__).parents[2]))
    deadly = drive / "cam2_20260301T080000Z.mp4"
    deadly.write_bytes(min(drive.iterdir()).read_bytes() + b"more")
    old(deadly)
    proof = look(drive, Helpers(LocalWorkers(1), results), Fragile())
    assert [len(recording.findings) for recording in proof.recordings] == [0, 1, 0, 1]
    [finding] = proof.recordings[3].findings
    assert finding.kind is Kind.DAMAGED
    assert "in 2 tries: its program ended by itself (code 11)" in finding.note
    assert proof.recordings[3].channel == 2
    video = Counting()
    look(drive, Helpers(results=results), video)
    assert video.opened == [deadly.name], "what was lost is not remembered"


class Listed:
    """Finds what it is told of; nothing exists."""

    def __init__(self, **folders: list[str]) -> None:
        self._folders = folders

    def find(self, path: Path) -> Iterator[Path]:
        names = self._folders.get(path.name)
        return iter((path,)) if names is None else (path / name for name in names)


def test_every_file_comes_once_named_from_the_first_path_given() -> None:
    video = Listed(b=["x/1.mp4", "x/2.mp4"], x=["1.mp4", "2.mp4"], a=["9.mp4"])
    made = list(items([Path("b/x/2.mp4"), Path("b"), Path("b/x"), Path("a")], video))
    assert [(one.number, str(one.path), str(one.name)) for one in made] == [
        (0, "a/9.mp4", "9.mp4"), (1, "b/x/1.mp4", "x/1.mp4"), (2, "b/x/2.mp4", "2.mp4"),
    ]  # fmt: skip


def test_time_grows_with_size() -> None:
    # An hour of 0.5 Mbit/s is 225 MB: over an hour, which the slowest decoder keeps up with.
    quiet, limit = time_limits(225_000_000, 2e6)
    assert 120 < quiet < 600
    assert limit > 2 * 3600
    assert time_limits(0, 2e6)[1] < 600
    # A hundred kilobytes a second, an hour's recording over a poor link: the same two hours more.
    assert time_limits(225_000_000, 1e5)[0] > 2000


def test_a_file_that_went_away_is_a_finding(tmp_path: Path) -> None:
    class Gone(AvVideo):
        def facts(self, path: Path) -> FileFacts:
            path.unlink()
            return super().facts(path)

    [path] = film(Drive(4, START, 1, (SMALL,)), tmp_path)
    proof = look(tmp_path, Helpers(), Gone())
    assert "it has gone" in proof.recordings[0].findings[0].note
    assert not path.exists()


def test_pictures_wait_in_memory_until_they_are_stored(tmp_path: Path) -> None:
    gathered = Gathered()
    (tmp_path / "b").write_bytes(b"two")
    one, two = gathered.put(b"one"), gathered.put_file(tmp_path / "b")
    assert one == hashlib.sha256(b"one").hexdigest()
    assert gathered.all() == (b"one", b"two")
    assert gathered.get(two) == b"two" and gathered.has(two)
    gathered.remove(two)
    assert not gathered.has(two)
    for ask in (gathered.get, gathered.path):
        with pytest.raises(NotFound):
            ask(two)
