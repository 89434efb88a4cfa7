"""How often a speed trigger would fire, from logs of driving, and which limit keeps a budget."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from enum import StrEnum

import numpy as np

from asfound.calc.event_rates import rate_above, rate_below
from asfound.calc.over_speed import Passage, counts_over, known_seconds, passages
from asfound.calc.wheel_pulses import way_of, way_speeds
from asfound.errors import UsageError
from asfound.model.drive_log import Track
from asfound.model.track_log import TrackLog

KMH = 3.6
SIDE = 0.975
"""Both limits of a rate hold with 95 %, each of them with this chance."""
SHORT_H = 3.0
"""Of vehicles at work, most days are longer (common practice)."""
MOST_EVENTS = 1000
"""Passages that are listed; all are counted."""


class SpeedFault(StrEnum):
    """What is found about speeds."""

    OVER = "over-the-limit"
    BUDGET = "more-than-the-budget"
    UNCERTAIN = "too-few-days-to-tell"


@dataclass(frozen=True, slots=True)
class SpeedFinding:
    """``measured`` against ``limit``, and what a person would say."""

    kind: SpeedFault
    measured: float
    limit: float
    note: str


@dataclass(frozen=True, slots=True)
class WatchSpeed:
    """Logs against ``limit_kmh`` + ``tolerance_kmh`` for ``least_s`` [s]; ``limits_kmh`` and
    ``lasting_s`` make the table; ``budget``: events a day that are wanted at most (None: not said).
    ``zone``: whose days are counted."""

    logs: tuple[TrackLog, ...]
    limit_kmh: float
    tolerance_kmh: float = 0.0
    least_s: float = 3.0
    limits_kmh: tuple[float, ...] = ()
    lasting_s: tuple[float, ...] = (1.0, 3.0, 5.0, 10.0)
    budget: float | None = None
    zone: tzinfo = UTC


@dataclass(frozen=True, slots=True)
class Watched:
    """``days`` with driving, ``hours`` and ``km`` of known speed; ``events`` that pass the limit
    (the first MOST_EVENTS), ``count`` of them, and how many a day with its 95 % band. ``table``:
    events for each limit (row) and each duration. ``kept_kmh``: the limit of the table from which
    on the budget is kept at the duration asked, as counted; ``sure_kmh``: at the upper bound.
    ``notes``: lines for the person."""

    days: int
    hours: float
    km: float
    top_kmh: float
    count: int
    a_day: float
    band: tuple[float, float]
    events: tuple[Passage, ...]
    table: tuple[tuple[int, ...], ...]
    kept_kmh: float | None
    sure_kmh: float | None
    by_speeds: bool
    findings: tuple[SpeedFinding, ...]
    notes: tuple[str, ...]


def watch_speed(request: WatchSpeed) -> Watched:
    """The counts. Raises UsageError when the logs have no speeds and no positions."""
    times, speeds, by_speeds = _joined(request.logs)
    days = _days(times[np.isfinite(speeds)], request.zone)
    hours = known_seconds(times, speeds) / 3600
    if not days or hours <= 0:
        raise UsageError("the logs have no speed between two fixes; give a log of driving")
    above = (request.limit_kmh + request.tolerance_kmh) / KMH
    events = passages(times, speeds, above, request.least_s)
    lasting = list(request.lasting_s)
    limits = [(each + request.tolerance_kmh) / KMH for each in request.limits_kmh]
    table = counts_over(times, speeds, limits, lasting)
    column = counts_over(times, speeds, limits, [request.least_s])[:, 0].tolist()
    kept = sure = None
    budget = request.budget
    if budget is not None:
        # From the top: far below the usual speed, a whole drive is one event.
        rows = sorted(zip(request.limits_kmh, column, strict=True), reverse=True)
        kept = _lowest(rows, lambda count: count / days <= budget)
        sure = _lowest(rows, lambda count: rate_below(count, days, SIDE) <= budget)
    band = (rate_above(len(events), days, SIDE), rate_below(len(events), days, SIDE))
    known = np.isfinite(speeds)
    steps = np.diff(times)
    near = known[1:] & known[:-1] & (steps <= 3.5)
    way = float((steps * (speeds[1:] + speeds[:-1]) / 2)[near].sum()) / 1000
    return Watched(
        days, hours, way, float(np.nanmax(speeds)) * KMH, len(events), len(events) / days, band,
        events[:MOST_EVENTS], tuple(tuple(row) for row in table.tolist()), kept, sure, by_speeds,
        tuple(_findings(request, events, days, band)), _notes(hours / days),
    )  # fmt: skip


def _notes(hours_a_day: float) -> tuple[str, ...]:
    if hours_a_day >= SHORT_H:
        return ()
    return (
        f"the logs hold {hours_a_day:.1f} h of driving a day: where vehicles drive longer, more "
        "events come of it",
    )


def _lowest(rows: Sequence[tuple[float, int]], keeps: Callable[[int], bool]) -> float | None:
    """The last limit, from the highest down, before one whose count does not keep the budget."""
    found = None
    for limit, count in rows:
        if not keeps(count):
            break
        found = limit
    return found


def _findings(
    request: WatchSpeed, events: Sequence[Passage], days: int, band: tuple[float, float]
) -> list[SpeedFinding]:
    found = []
    if events:
        top = max(one.top_ms for one in events) * KMH
        limit = request.limit_kmh + request.tolerance_kmh
        times = "once" if len(events) == 1 else f"{len(events)} times"
        note = f"{limit:g} km/h were passed {times}, by up to {top - limit:.1f} km/h"
        found.append(SpeedFinding(SpeedFault.OVER, top, limit, note))
    if request.budget is None:
        return found
    rate, budget = len(events) / days, request.budget
    if rate > budget:
        note = f"{rate:.2f} events a day, {budget:g} are wanted at most"
        found.append(SpeedFinding(SpeedFault.BUDGET, rate, budget, note))
    elif band[1] > budget:
        counted = "one day" if days == 1 else f"{days} days"
        note = (
            f"counted are {rate:.2f} events a day, but {counted} of driving allow up to "
            f"{band[1]:.2f}: a budget of {budget:g} takes more days to tell"
        )
        found.append(SpeedFinding(SpeedFault.UNCERTAIN, band[1], budget, note))
    return found


def speeds_of(track: Track) -> tuple[Track, bool]:
    """The track with a speed at each fix: the receiver's own, or from positions where it tells
    none; and whether they are its own."""
    if np.isfinite(track.speed_ms).mean() > 0.5:
        return track, True
    if np.isfinite(track.lat_deg).sum() < 2:
        return track, False
    made = way_speeds(way_of(track))
    nothing = np.full(len(made.times_s), np.nan)
    return Track(made.times_s, nothing, nothing, made.speed_ms, nothing), False


def _joined(logs: Sequence[TrackLog]) -> tuple[np.ndarray, np.ndarray, bool]:
    """Times and speeds of all logs in the order of time; where logs overlap, the first counts."""
    parts = [speeds_of(log.track) for log in logs]
    parts.sort(key=lambda part: part[0].times_s[0] if len(part[0]) else 0.0)
    times: list[np.ndarray] = []
    speeds: list[np.ndarray] = []
    last = -np.inf
    for track, _ in parts:
        later = track.times_s > last
        times.append(track.times_s[later])
        speeds.append(track.speed_ms[later])
        last = max(last, float(track.times_s[-1])) if len(track) else last
    return np.concatenate(times), np.concatenate(speeds), all(own for _, own in parts)


def _days(times: np.ndarray, zone: tzinfo) -> int:
    # Quarters of an hour are enough to tell days apart in every zone.
    quarters = np.unique(np.floor(times / 900)).tolist()
    return len(
        {datetime.fromtimestamp(each * 900, UTC).astimezone(zone).date() for each in quarters}
    )
