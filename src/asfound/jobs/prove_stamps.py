"""Stamps that only a wrong clock makes: later than now, or years from all other recordings.

A recorder whose clock fell back or ran ahead stamps files years off. Held against the others they
would look like years without a recording; they are a fault of the clock and stand apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from asfound.calc.timelines import eras
from asfound.model.finding import Finding, Kind, Recording

AHEAD = timedelta(days=1)
"""A clock set to another zone is up to 14 h ahead; a later stamp is of no zone (own choice)."""

APART = timedelta(days=365)
"""No drive in use pauses for a year (own choice). One that was laid up may: the finding says so."""

SOURCE = "no drive in use pauses for a year (own choice)"
LATER = "nothing is recorded later than now (one day let pass, own choice)"

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
YEAR_S = 365.25 * 86400


@dataclass(frozen=True, slots=True)
class Stamps:
    """When recordings start, sorted into timelines: ``timeline`` of each, ``main`` that of most
    recordings (None: all lie in the future), ``future`` those that lie later than now. ``sizes``:
    how many recordings each has; ``first`` and ``last`` start of the main one [s]."""

    timeline: tuple[int, ...]
    main: int | None
    future: frozenset[int]
    sizes: tuple[int, ...]
    first: float = 0.0
    last: float = 0.0


def sort_stamps(starts: Sequence[float], now: float | None) -> Stamps:
    """Timelines of starts [s since 1970]: apart by more than a year, or by the present moment.

    Of two timelines with as many recordings the later one is the main one: the newer a recording
    is, the more is known of the clock that it was made by.
    """
    later = [now is not None and start > now + AHEAD.total_seconds() for start in starts]
    parts = eras(starts, APART.total_seconds())
    sizes = Counter(zip(later, parts, strict=True))
    keys = sorted(sizes)
    places = {key: number for number, key in enumerate(keys)}
    timeline = tuple(places[key] for key in zip(later, parts, strict=True))
    future = frozenset(number for number, (is_later, _) in enumerate(keys) if is_later)
    past = [number for number in range(len(keys)) if number not in future]
    main = max(past, key=lambda number: (sizes[keys[number]], number), default=None)
    own = [start for start, number in zip(starts, timeline, strict=True) if number == main]
    counts = tuple(sizes[key] for key in keys)
    return Stamps(timeline, main, future, counts, min(own, default=0.0), max(own, default=0.0))


def with_stamps(
    recordings: Sequence[Recording], now: datetime | None
) -> tuple[tuple[Recording, ...], tuple[int, ...]]:
    """The recordings with findings about their stamps, and the timeline of each; one without a
    start counts to the main one."""
    known = [number for number, one in enumerate(recordings) if one.start is not None]
    starts = [_seconds(recordings[number]) for number in known]
    stamps = sort_stamps(starts, None if now is None else (now - EPOCH).total_seconds())
    out = list(recordings)
    home = stamps.main if stamps.main is not None else 0
    timelines = [home] * len(recordings)
    for place, number in enumerate(known):
        timelines[number] = stamps.timeline[place]
        for finding in _judged(starts[place], stamps.timeline[place], stamps, now):
            finding = replace(finding, end_s=recordings[number].duration_s or 0.0)
            out[number] = replace(out[number], findings=(*out[number].findings, finding))
    return tuple(out), tuple(timelines)


def _judged(start: float, own: int, stamps: Stamps, now: datetime | None) -> Iterator[Finding]:
    """The finding about one stamp; it ends where the recording does, which the caller knows."""
    stamp = f"{EPOCH + timedelta(seconds=start):%Y-%m-%d}"
    if own in stamps.future and now is not None:
        ahead = start - (now - EPOCH).total_seconds()
        limit = AHEAD.total_seconds()
        note = f"stamped {stamp}, {span_words(ahead)} later than now: the clock was ahead"
        yield Finding(Kind.CLOCK_OFFSET, 0.0, 0.0, ahead, limit, "s", LATER, "", note)
    elif own != stamps.main and stamps.main is not None:
        others = stamps.sizes[stamps.main]
        apart = max(stamps.first - start, start - stamps.last)
        side = "before" if start < stamps.first else "after"
        note = f"stamped {stamp}, {span_words(apart)} {side} {_others(others)}: "
        if others < 2 * stamps.sizes[own]:
            note += "the clock jumped, which of the two was right cannot be told"
        else:
            note += "the clock was wrong, or this is footage of another time"
        yield Finding(
            Kind.CLOCK_JUMP, 0.0, 0.0, apart / 86400, float(APART.days), "d", SOURCE, "", note
        )


def span_words(seconds: float) -> str:
    """ "14.2 years", or days below a year."""
    if seconds >= YEAR_S:
        return f"{seconds / YEAR_S:.1f} years"
    return f"{seconds / 86400:.1f} days"


def _others(number: int) -> str:
    return "the other recording" if number == 1 else f"the other {number} recordings"


def _seconds(recording: Recording) -> float:
    start = recording.start or EPOCH
    return (start - EPOCH).total_seconds()
