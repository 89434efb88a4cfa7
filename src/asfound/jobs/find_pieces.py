"""Which stretch of time each recording holds, from containers and names, without decoding."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from asfound.calc.coverage import without
from asfound.calc.plain_text import plain
from asfound.calc.strip import Span
from asfound.errors import NotFound, RecordingError
from asfound.jobs.prove_files import Item, items
from asfound.jobs.prove_names import Named, Pattern, parse_pattern, read_name
from asfound.model.coverage import Period, Piece
from asfound.model.finding import Kind, Proof, Recording
from asfound.ports.containers import Containers
from asfound.ports.progress import Progress, silent
from asfound.ports.video import FileFacts

NEVER_SET = datetime(2001, 1, 1, tzinfo=UTC)
"""Recordings stamped before this come from a clock that was never set: such clocks begin in 1904,
1970, 1980 or 2000 (common practice, no source)."""

NO_CHANNEL = "which channel it is cannot be told"

AHEAD = timedelta(minutes=2)
"""So much may a recorder's clock be ahead of ours, as in a visit's proof (docs/proof.md)."""


@dataclass(frozen=True, slots=True)
class FindPieces:
    """Files and folders, how files are named ("": by common ways), and ``now`` (aware).

    ``clock_ahead_s``: how far the recorder's clock was ahead of the right time [s].
    ``unknown_channel``: stands for a channel that cannot be told, which is said besides; None: such
    a recording is not placed.
    """

    paths: tuple[Path, ...]
    now: datetime
    pattern: str = ""
    clock_ahead_s: float = 0.0
    unknown_channel: int | None = None


def find_pieces(
    request: FindPieces, *, video: Containers, progress: Progress = silent
) -> Iterator[Piece | str]:
    """Place every recording in time, one after the other as they are asked for; what cannot be
    placed is said, one line each. Nothing is kept of a file that was given out.

    Raises NotFound, RecordingError (a folder without recordings), StorageError, UsageError (a
    pattern that cannot work), Interrupted.
    """
    pattern = parse_pattern(request.pattern) if request.pattern else None
    total = sum(1 for _ in items(request.paths, video))
    for item in items(request.paths, video):
        progress(item.number, total, item.path.name)
        yield from place_file(item, pattern, request, video)
        progress(item.number + 1, total, item.path.name)


def place_file(
    item: Item, pattern: Pattern | None, request: FindPieces, video: Containers
) -> Iterator[Piece | str]:
    """The same for one file; of ``request`` its paths and its pattern's text are not used.

    Raises StorageError.
    """
    file = item.path
    named = pattern.read(file) if pattern else read_name(item.name)
    try:
        facts = video.facts(file)
    except RecordingError as error:
        why = str(error).removeprefix(f"{file}: ")
        yield plain(f"{file}: {why}")
        return
    except NotFound:
        yield plain(f"{file}: it has gone since the folder was searched")
        return
    for made in _pieces(facts, named, request):
        yield made if isinstance(made, Piece) else plain(f"{file}: {made}")


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
            yield why or NO_CHANNEL
            channel = request.unknown_channel
            if channel is None:
                continue
        if isinstance(held, str):
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


def proved_pieces(proof: Proof, request: FindPieces) -> Iterator[Piece | str]:
    """The same from a proof, whose decoding saw where a file holds no pictures. Of ``request``
    only the clocks are used."""
    for recording in proof.recordings:
        held = _period(recording.start, recording.duration_s, request)
        if recording.channel is None:
            yield plain(f"{recording.file}: which channel it is cannot be told")
        elif isinstance(held, str):
            yield plain(f"{recording.file}: {held}")
        else:
            yield from _without_gaps(recording, recording.channel, held)


def _without_gaps(recording: Recording, channel: int, held: Period) -> Iterator[Piece]:
    gaps = [Span(item.start_s, item.end_s) for item in recording.findings if item.kind is Kind.GAP]
    for span in without((Span(0.0, held.hours * 3600),), gaps):
        first, last = timedelta(seconds=span.start), timedelta(seconds=span.end)
        yield Piece(channel, plain(recording.file), held.start + first, held.start + last)
