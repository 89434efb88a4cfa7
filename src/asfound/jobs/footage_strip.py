"""The footage strip: recordings on a time axis, their findings marked, pictures beside them.

Recordings whose start is known share axes of local clock time; the others each start at zero
on an axis of their own kind, because their order is not known and is not guessed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from asfound.calc.strip import (
    DAY_S,
    Mark,
    Scale,
    Span,
    cover,
    marks,
    pictures_apart,
    ticks,
    windows,
)
from asfound.jobs.prove_clock_words import clocks_word
from asfound.jobs.report_pictures import Album
from asfound.jobs.report_texts import (
    KIND_WORDS,
    MONTHS,
    Row,
    day_text,
    offset_text,
    seconds_text,
    shape_of,
)
from asfound.model.finding import Finding, Kind, Recording

WIDTH_MM = 142.0
"""Width of the strip; the template draws it at this size."""

PICTURE_MM = 22.0
PICTURE_PX = 260
"""300 dots per inch at 22 mm."""

MOST_LANES = (10, 20)
"""Beyond the first, labels shrink to their number; beyond the second, they are left out."""

LABEL_MM_PER_CHARACTER = 1.32
LABEL_EDGE_MM = 7.5
"""Room for a label's shape and number; widths are generous estimates for 7 pt text."""


@dataclass(frozen=True, slots=True)
class NumberedFinding:
    """A finding with its number in the report and the index of its recording."""

    number: int
    recording: int
    finding: Finding


@dataclass(frozen=True, slots=True)
class StripWords:
    """The drawing's words: findings by kind, months from January, and what stands between two
    times."""

    kinds: Mapping[Kind, str] = field(default_factory=lambda: KIND_WORDS)
    months: Sequence[str] = MONTHS
    to: str = "to"


ENGLISH = StripWords()


@dataclass(frozen=True, slots=True)
class StripLook:
    """What every row needs: time zone, channel names, pictures, and the size of the drawing.

    ``width_mm`` is the strip's, ``text_scale`` how much larger than 7 pt its labels are.
    """

    local: ZoneInfo
    names: Mapping[int, str]
    album: Album
    width_mm: float = WIDTH_MM
    text_scale: float = 1.0
    words: StripWords = ENGLISH


def numbered(recordings: Sequence[Recording]) -> tuple[NumberedFinding, ...]:
    """All findings, numbered from 1 in the order of recordings and of time."""
    pairs = [
        (index, finding)
        for index, recording in enumerate(recordings)
        for finding in sorted(recording.findings, key=lambda item: (item.start_s, item.end_s))
    ]
    return tuple(NumberedFinding(n, index, found) for n, (index, found) in enumerate(pairs, 1))


def length_of(recording: Recording) -> float | None:
    """Seconds to draw: the duration, else as far as findings and pictures reach, else None."""
    if recording.duration_s is not None:
        return max(recording.duration_s, 0.0)
    reach = [finding.end_s for finding in recording.findings]
    reach += [second for second, _ in recording.thumbnails]
    return max(reach) if reach and max(reach) > 0 else None


def strips(recordings: Sequence[Recording], look: StripLook) -> list[Row]:
    """Axes with their rows, clock axes first; recordings of unknown length are left out."""
    findings = numbered(recordings)
    timed: list[tuple[int, Span]] = []
    untimed: list[tuple[int, Span]] = []
    for index, recording in enumerate(recordings):
        length = length_of(recording)
        if length is None:
            continue
        if recording.start is None:
            untimed.append((index, Span(0.0, length)))
        else:
            start = _local_seconds(recording.start, look.local)
            timed.append((index, Span(start, start + length)))
    made = []
    for group in windows([span for _, span in timed]):
        made.append(_axis([timed[i] for i in group], recordings, findings, look, True))
    if untimed:
        made.append(_axis(untimed, recordings, findings, look, False))
    return made


def _axis(
    items: Sequence[tuple[int, Span]],
    recordings: Sequence[Recording],
    findings: Sequence[NumberedFinding],
    look: StripLook,
    clocked: bool,
) -> Row:
    whole = cover([span for _, span in items])
    scale = Scale(whole, look.width_mm)
    keys: dict[tuple[int, int], list[tuple[int, Span]]] = {}
    for index, span in items:
        channel = recordings[index].channel
        # One row a channel on a clock axis; one row a file where order or channel is unknown.
        own_row = not clocked or channel is None
        key = (channel if channel is not None else 9999, index if own_row else -1)
        keys.setdefault(key, []).append((index, span))
    rows = [_row(keys[key], recordings, findings, scale, look) for key in sorted(keys)]
    step = ticks(scale, 18.0 * look.text_scale)
    apart = step[1].second - step[0].second if len(step) > 1 else 60
    days = clocked and whole.end - whole.start > DAY_S
    labels = [
        {
            "x": tick.x,
            "label": _tick_text(tick.second, clocked, apart < 60, look.words.months, days),
        }
        for tick in step
    ]
    title = _title(whole, recordings[items[0][0]].start, look) if clocked else ""
    return {"title": title, "ticks": labels, "rows": rows, "width": look.width_mm}


def _row(
    items: Sequence[tuple[int, Span]],
    recordings: Sequence[Recording],
    findings: Sequence[NumberedFinding],
    scale: Scale,
    look: StripLook,
) -> Row:
    first = recordings[items[0][0]]
    starts = {index: span.start for index, span in items}
    own = [item for item in findings if item.recording in starts]
    spans = [
        Span(
            starts[item.recording] + item.finding.start_s,
            starts[item.recording] + max(item.finding.start_s, item.finding.end_s),
        )
        for item in own
    ]
    words = [look.words.kinds[item.finding.kind] for item in own]
    drawn = marks(spans, _label_widths(words, look.text_scale), scale)
    if _lanes(drawn) > MOST_LANES[0]:
        words = [""] * len(own)
        drawn = marks(spans, _label_widths(words, look.text_scale), scale)
    clips = [(scale.x(span.start), scale.x(span.end)) for _, span in items]
    return {
        "channel": "?" if first.channel is None else str(first.channel),
        "name": _row_name(first, look.names),
        "clock": clocks_word([recordings[index] for index, _ in items]),
        "clips": [{"x": left, "w": max(right - left, 0.4)} for left, right in clips],
        "thumbs": _thumbs(items, recordings, scale, look),
        "lanes": min(_lanes(drawn), MOST_LANES[1]),
        "marks": [
            {
                "x": mark.x0,
                "w": mark.x1 - mark.x0,
                "label_x": mark.label_x,
                "lane": mark.lane,
                "n": item.number,
                "shape": shape_of(item.finding.kind),
                "word": word,
                "labelled": mark.lane < MOST_LANES[1],
            }
            for mark, item, word in zip(drawn, own, words, strict=True)
        ],
    }


def _label_widths(words: Sequence[str], text_scale: float) -> list[float]:
    return [text_scale * (LABEL_EDGE_MM + LABEL_MM_PER_CHARACTER * len(word)) for word in words]


def _lanes(drawn: Sequence[Mark]) -> int:
    return 1 + max((mark.lane for mark in drawn), default=-1)


def _row_name(recording: Recording, names: Mapping[int, str]) -> str:
    if recording.channel is None:
        return recording.file
    return names.get(recording.channel, "")


def _thumbs(
    items: Sequence[tuple[int, Span]],
    recordings: Sequence[Recording],
    scale: Scale,
    look: StripLook,
) -> list[Row]:
    shots = [
        (span.start + second, sha256)
        for index, span in items
        for second, sha256 in recordings[index].thumbnails
    ]
    chosen = pictures_apart([moment for moment, _ in shots], scale, PICTURE_MM)
    return [
        {"x": left, "at": scale.x(shots[i][0]), "shot": look.album.whole(shots[i][1], PICTURE_PX)}
        for i, left in chosen
    ]


def _local_seconds(at: datetime, local: ZoneInfo) -> float:
    """Seconds of local wall time since 1970, so that ticks fall on round local times."""
    offset = at.astimezone(local).utcoffset() or timedelta()
    return at.timestamp() + offset.total_seconds()


def _tick_text(second: float, clocked: bool, fine: bool, months: Sequence[str], days: bool) -> str:
    if not clocked:
        return seconds_text(second)[:-2]
    wall = datetime.fromtimestamp(second, UTC)
    if days and second % DAY_S == 0:
        # On an axis of several days, midnight is told by the day that begins.
        return f"{wall.day}\u00a0{months[wall.month - 1]}"
    return wall.strftime("%H:%M:%S" if fine else "%H:%M")


def _title(whole: Span, start: datetime | None, look: StripLook) -> str:
    first = datetime.fromtimestamp(whole.start, UTC)
    last = datetime.fromtimestamp(whole.end, UTC)
    end = last.strftime("%H:%M:%S")
    if first.date() != last.date():
        end = f"{day_text(last, look.words.months)}, {end}"
    offset = offset_text(start.astimezone(look.local)) if start else ""
    day = day_text(first, look.words.months)
    return f"{day}, {first.strftime('%H:%M:%S')} {look.words.to} {end} ({offset})"
