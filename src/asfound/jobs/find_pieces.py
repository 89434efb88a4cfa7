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
from asfound.model.coverage import Period, Piece, Pieces
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
    if facts.cut_off:
        yield f"{facts.cut_off}: it may hold less than it says"
    start = named.start or facts.start
    for stream in facts.streams:
        channel = stream.index + 1 if len(facts.streams) > 1 else named.channel
        why = named.unclear if channel is None else ""
        held = _period(start, stream.duration_s, request)
        if why or channel is None:
            yield why or "which channel it is cannot be told"
        elif isinstance(held, str):
            yield held
        else:
            yield Piece(channel, plain(str(facts.path)), held.start, held.end)


def _period(start: datetime | None, seconds: float | None, request: FindPieces) -> Period | str:
    """When a recording was made, or in a line why that cannot be told."""
    if start is None:
        return "when it starts is not known; give --pattern if its name says it"
    if start < NEVER_SET:
        return f"stamped {start:%Y-%m-%d}: the recorder's clock was not set"
    if seconds is None:
        return "how long it is cannot be told"
    begin = start - timedelta(seconds=request.clock_ahead_s)
    end = begin + timedelta(seconds=seconds)
    if end > request.now + AHEAD:
        return f"ends in the future, {end.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
    return Period(begin, end)


def proved_pieces(proof: Proof, request: FindPieces) -> Pieces:
    """The same from a proof, whose decoding saw where a file holds no pictures. Of ``request``
    only the clocks are used."""
    placed: list[Piece] = []
    unplaced: list[str] = []
    for recording in proof.recordings:
        held = _period(recording.start, recording.duration_s, request)
        if recording.channel is None:
            unplaced.append(plain(f"{recording.file}: which channel it is cannot be told"))
        elif isinstance(held, str):
            unplaced.append(plain(f"{recording.file}: {held}"))
        else:
            placed.extend(_without_gaps(recording, recording.channel, held))
    return Pieces(tuple(placed), tuple(unplaced))


def _without_gaps(recording: Recording, channel: int, held: Period) -> Iterator[Piece]:
    gaps = [Span(item.start_s, item.end_s) for item in recording.findings if item.kind is Kind.GAP]
    for span in without((Span(0.0, held.hours * 3600),), gaps):
        first, last = timedelta(seconds=span.start), timedelta(seconds=span.end)
        yield Piece(channel, plain(recording.file), held.start + first, held.start + last)
