"""Which stretch of time each recording holds, from containers and names, without decoding."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from asfound.calc.coverage import without
from asfound.calc.plain_text import plain
from asfound.calc.strip import Span
from asfound.errors import RecordingError
from asfound.jobs.prove_names import Named, parse_pattern, read_name
from asfound.model.coverage import Piece, Pieces
from asfound.model.finding import Kind, Proof, Recording
from asfound.ports.containers import Containers
from asfound.ports.progress import Progress, silent
from asfound.ports.video import FileFacts

NEVER_SET = datetime(2001, 1, 1, tzinfo=UTC)
"""Recordings stamped before this come from a clock that was never set: such clocks begin in 1904,
1970, 1980 or 2000 (common practice, no source)."""

AHEAD = timedelta(minutes=2)
"""So much may a recorder's clock be ahead of ours, as in a visit's proof (docs/proof.md)."""


@dataclass(frozen=True, slots=True)
class FindPieces:
    """Files and folders, how files are named ("": by common ways), and ``now`` (aware).

    ``clock_ahead_s``: how far the recorder's clock was ahead of the right time [s].
    """

    paths: tuple[Path, ...]
    now: datetime
    pattern: str = ""
    clock_ahead_s: float = 0.0


def find_pieces(request: FindPieces, *, video: Containers, progress: Progress = silent) -> Pieces:
    """Place every recording in time; what cannot be placed is said, one line each.

    Raises NotFound, RecordingError (a folder without recordings), UsageError (a pattern that
    cannot work), Interrupted.
    """
    pattern = parse_pattern(request.pattern) if request.pattern else None
    files = {
        file: file.relative_to(path) if file != path else Path(file.name)
        for path in reversed(request.paths)
        for file in video.find(path)
    }
    placed: list[Piece] = []
    unplaced: list[str] = []
    for number, (file, name) in enumerate(sorted(files.items())):
        progress(number, len(files), file.name)
        named = pattern.read(file) if pattern else read_name(name)
        try:
            facts = video.facts(file)
        except RecordingError as error:
            why = str(error).removeprefix(f"{file}: ")
            unplaced.append(plain(f"{file}: {why}"))
            continue
        for made in _pieces(facts, named, request):
            if isinstance(made, Piece):
                placed.append(made)
            else:
                unplaced.append(plain(f"{file}: {made}"))
        progress(number + 1, len(files), file.name)
    return Pieces(tuple(placed), tuple(unplaced))


def _pieces(facts: FileFacts, named: Named, request: FindPieces) -> Iterator[Piece | str]:
    """Pieces of one file, or in a line why there is none (or why one may be wrong)."""
    if not facts.streams:
        yield "there is no video stream in it" if facts.size_bytes else "the file has no bytes"
        return
    start = named.start or facts.start
    if start is None:
        yield "when it starts is not known; give --pattern if its name says it"
        return
    if start < NEVER_SET:
        yield f"stamped {start:%Y-%m-%d}: the recorder's clock was not set"
        return
    start -= timedelta(seconds=request.clock_ahead_s)
    if facts.cut_off:
        yield f"{facts.cut_off}: it may hold less than it says"
    for stream in facts.streams:
        channel = stream.index + 1 if len(facts.streams) > 1 else named.channel
        if channel is None:
            yield named.unclear or "which channel it is cannot be told"
        elif stream.duration_s is None:
            yield "how long it is cannot be told"
        elif (end := start + timedelta(seconds=stream.duration_s)) > request.now + AHEAD:
            yield f"ends in the future, {end.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
        else:
            yield Piece(channel, plain(str(facts.path)), start, end)


def proved_pieces(proof: Proof) -> Pieces:
    """The same from a proof, whose decoding saw where a file holds no pictures."""
    placed: list[Piece] = []
    unplaced: list[str] = []
    for recording in proof.recordings:
        if recording.channel is None:
            unplaced.append(f"{recording.file}: which channel it is cannot be told")
        elif recording.start is None:
            unplaced.append(f"{recording.file}: when it starts is not known")
        elif recording.duration_s is None:
            unplaced.append(f"{recording.file}: how long it is cannot be told")
        else:
            placed.extend(_held(recording, recording.channel, recording.start))
    return Pieces(tuple(placed), tuple(unplaced))


def _held(recording: Recording, channel: int, start: datetime) -> Iterator[Piece]:
    gaps = [Span(item.start_s, item.end_s) for item in recording.findings if item.kind is Kind.GAP]
    for span in without((Span(0.0, recording.duration_s or 0.0),), gaps):
        first, last = timedelta(seconds=span.start), timedelta(seconds=span.end)
        yield Piece(channel, recording.file, start + first, start + last)
