"""Placing recordings in time: what containers and names say, and what they do not."""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from asfound.errors import NotFound, RecordingError
from asfound.jobs.coverage import Cover, cover
from asfound.jobs.find_pieces import FindPieces, find_pieces, proved_pieces
from asfound.model.coverage import IgnitionLog, Period, Piece
from asfound.model.finding import Finding, Kind, Proof, ProofVerdict, Recording
from asfound.ports.video import FileFacts, StreamFacts

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
NOW = START + timedelta(days=1)
STREAM = StreamFacts(0, "h264", 320, 192, 12.0, 60.0, 1e6)


@dataclass
class Shelf:
    """Files whose containers say what a test wants; nothing can be decoded."""

    files: dict[Path, FileFacts | RecordingError] = field(default_factory=dict)

    def put(self, name: str, facts: FileFacts | RecordingError) -> None:
        path = Path("/drive") / name
        self.files[path] = facts if isinstance(facts, RecordingError) else replace(facts, path=path)

    def find(self, path: Path) -> Sequence[Path]:
        return sorted(self.files) if path == Path("/drive") else (path,)

    def facts(self, path: Path) -> FileFacts:
        found = self.files[path]
        if isinstance(found, RecordingError):
            raise found
        return found


def facts(*streams: StreamFacts, start: datetime | None = START, cut_off: str = "") -> FileFacts:
    return FileFacts(Path(), 1000 if streams else 0, "mp4", streams, 0, start, cut_off)


def place(shelf: Shelf, pattern: str = "", ahead: float = 0.0) -> tuple[list[Piece], list[str]]:
    return parted(find_pieces(FindPieces((Path("/drive"),), NOW, pattern, ahead), video=shelf))


def parted(made: Iterable[Piece | str]) -> tuple[list[Piece], list[str]]:
    """What was placed, and what was said of the rest."""
    both = list(made)
    return (
        [one for one in both if isinstance(one, Piece)],
        [one for one in both if isinstance(one, str)],
    )


def test_channel_from_the_name_and_times_from_the_container() -> None:
    shelf = Shelf()
    shelf.put("ch2.mp4", facts(STREAM))
    placed, unplaced = place(shelf)
    assert placed == [Piece(2, "/drive/ch2.mp4", START, START + timedelta(seconds=60))]
    assert unplaced == []


def test_several_streams_are_several_channels() -> None:
    shelf = Shelf()
    shelf.put("all.mp4", facts(STREAM, replace(STREAM, index=1, duration_s=30.0)))
    placed, _ = place(shelf)
    assert [(piece.channel, (piece.end - piece.start).total_seconds()) for piece in placed] == [
        (1, 60.0),
        (2, 30.0),
    ]


def test_a_clock_that_was_ahead_is_taken_back() -> None:
    shelf = Shelf()
    shelf.put("ch1.mp4", facts(STREAM))
    [piece], _ = place(shelf, ahead=3600)
    assert piece.start == START - timedelta(hours=1)


@pytest.mark.parametrize(
    ("made", "says"),
    [
        (facts(), "no bytes"),
        (facts(STREAM, start=None), "when it starts is not known"),
        (facts(STREAM, start=datetime(2000, 1, 1, tzinfo=UTC)), "was not set"),
        (facts(STREAM, start=NOW + timedelta(hours=1)), "in the future"),
        (facts(replace(STREAM, duration_s=None)), "how long"),
        (RecordingError("/drive/ch1.mp4: not a recording"), "ch1.mp4: not a recording"),
    ],
)
def test_what_cannot_be_placed_is_said(made: FileFacts | RecordingError, says: str) -> None:
    shelf = Shelf()
    shelf.put("ch1.mp4", made)
    placed, [line] = place(shelf)
    assert placed == []
    assert says in line and line.startswith("/drive/ch1.mp4: ")


def test_a_cut_off_file_is_placed_and_doubted() -> None:
    shelf = Shelf()
    shelf.put("ch1.mp4", facts(STREAM, cut_off="the file holds 10 of 20 bytes"))
    placed, [line] = place(shelf)
    assert len(placed) == 1
    assert "may hold less" in line


def test_a_name_that_says_no_channel() -> None:
    shelf = Shelf()
    shelf.put("front.mp4", facts(STREAM))
    placed, [line] = place(shelf)
    assert placed == []
    assert "give --pattern" in line


def test_a_pattern_says_channel_and_start() -> None:
    shelf = Shelf()
    shelf.put("4_20260228T220000Z.mp4", facts(STREAM))
    [piece], _ = place(shelf, "{channel}_{start:%Y%m%dT%H%M%SZ}")
    assert (piece.channel, piece.start) == (4, datetime(2026, 2, 28, 22, 0, tzinfo=UTC))


def test_a_proof_tells_of_gaps_inside() -> None:
    gap = Finding(Kind.GAP, 10.0, 20.0, 10.0, 2.0, "s", "expectation")
    after = Finding(Kind.GAP, 60.0, 90.0, 30.0, 2.0, "s", "expectation")
    recording = Recording("ch1.mp4", 1, "h264", 320, 192, 12.0, 60.0, 1e6, START, (gap, after))
    lost = replace(recording, file="x.mp4", channel=None)
    early = replace(recording, file="y.mp4", start=None)
    placed, unplaced = parted(
        proved_pieces(
            Proof(ProofVerdict.FAULTS, (recording, lost, early)), FindPieces((), NOW, "", 3600)
        )
    )
    spans = [
        ((piece.start - START).total_seconds() + 3600, (piece.end - START).total_seconds() + 3600)
        for piece in placed
    ]
    assert spans == [(0, 10), (20, 60)]
    assert len(unplaced) == 2


class Drive:
    """``count`` files of four channels, a minute each, never quite end to start."""

    def __init__(self, count: int) -> None:
        self._count = count

    def find(self, path: Path) -> Iterable[Path]:
        return (path / f"ch{n % 4 + 1}" / f"{n:06}.mp4" for n in range(self._count))

    def facts(self, path: Path) -> FileFacts:
        begin = START - timedelta(minutes=int(path.stem) // 4 + 2)
        return replace(facts(replace(STREAM, duration_s=59.9), start=begin), path=path)


def peak_of(count: int) -> int:
    """Bytes at most while so many files are held against a year of driving."""
    tracemalloc.start()
    pieces = find_pieces(FindPieces((Path("/drive"),), NOW), video=Drive(count))
    log = IgnitionLog((Period(NOW - timedelta(days=365), NOW),))
    made = cover(Cover(pieces, log, NOW))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    # A file that is given out is forgotten; holes shorter than a minute are one number.
    assert made.channels[0].held_h == pytest.approx(count / 4 * 59.9 / 3600)
    return peak


def test_a_file_more_costs_next_to_no_memory() -> None:
    small, large = 500, 3_500
    # Of two runs: Python's table of interned names may grow in one of them.
    peaks = [min(peak_of(count) for _ in range(2)) for count in (small, large)]
    assert (peaks[1] - peaks[0]) / (large - small) < 150


def test_a_file_that_went_away_meanwhile_is_said() -> None:
    class Leaving(Shelf):
        def facts(self, path: Path) -> FileFacts:
            raise NotFound(f"{path}: no such file; check the path")

    shelf = Leaving()
    shelf.put("ch1.mp4", facts(STREAM))
    placed, [line] = place(shelf)
    assert placed == [] and line == "/drive/ch1.mp4: it has gone since the folder was searched"
