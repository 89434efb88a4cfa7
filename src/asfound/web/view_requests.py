"""Requests for footage as pages show them: what to do first, what holds, and a line of time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import floor
from typing import Literal

from asfound.jobs.footage_requests import list_requests, one_request
from asfound.jobs.request_look import WEEK_D
from asfound.jobs.request_where import FAR, Located
from asfound.model.coverage import IgnitionLog
from asfound.model.footage_request import FootageRequest, RequestState
from asfound.model.hold import Hold
from asfound.model.journal import Entry
from asfound.web.requesting import Looks, keeping, last_hash
from asfound.web.services import Services
from asfound.web.view_fleet import PAGE

Act = Literal["gone", "elsewhere", "before", "kept", "unknown"]
"""What to do first: it is gone; the drive that came out has it; copy it before an hour; nothing
overwrites it; it cannot be told."""

WIDE = 1000.0
"""Width of the line of time in its drawing's own units."""

LEAST = 6.0
"""The narrowest bar, so that some minutes among weeks are seen."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A piece of the line of time: where it begins and how wide it is."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class TimeLine:
    """From ``start`` to ``end``: the footage, the present, and when it is overwritten; ``likely``
    is where its first second most likely is."""

    start: datetime
    end: datetime
    asked: Bar
    now: float
    going: Bar
    likely: float


@dataclass(frozen=True, slots=True)
class Row:
    """A request with its answer. ``percent``: how likely it is there, rounded down (None: cannot
    be told). ``hours_left`` until it may be gone (None: no such hour, or it has passed)."""

    found: Located
    act: Act
    percent: int | None
    holds: tuple[Hold, ...]
    hours_left: int | None = None

    @property
    def request(self) -> FootageRequest:
        """What was asked."""
        return self.found.request


@dataclass(frozen=True, slots=True)
class RequestsView:
    """Open requests, what to do first on top; those that were answered or, where they were asked
    for, closed, newest first: page ``number`` of ``pages``. ``closed`` in all."""

    waiting: tuple[Row, ...]
    ended: tuple[FootageRequest, ...]
    number: int
    pages: int
    closed: int


@dataclass(frozen=True, slots=True)
class RequestView:
    """One request: ``head`` is what a write must name, ``entries`` what was written after it was
    taken down."""

    row: Row
    head: str
    entries: tuple[Entry, ...]
    line: TimeLine | None
    channels: tuple[str, ...]
    placed: Hold | None


def requests_view(looks: Looks, services: Services, everything: bool, number: int) -> RequestsView:
    """The list. Raises NotFound, InputError (fleet file), IntegrityError, StorageError."""
    holds = services.desk.store.holds()
    waiting = tuple(row_of(one, holds) for one in looks.waiting())
    asked = list_requests(services.requests)
    closed = [one for one in asked if one.state is RequestState.CLOSED]
    ended = [one for one in asked if one.state is RequestState.ANSWERED]
    if everything:
        ended += closed
    ended.sort(key=lambda one: one.done_at or one.at, reverse=True)
    pages = max(1, -(-len(ended) // PAGE))
    number = min(max(1, number), pages)
    shown = tuple(ended[(number - 1) * PAGE : number * PAGE])
    return RequestsView(waiting, shown, number, pages, len(closed))


def request_view(
    name: str,
    looks: Looks,
    services: Services,
    days_a_week: float = WEEK_D,
    log: IgnitionLog | None = None,
) -> RequestView:
    """One request, by a ``log`` of its vehicle where there is one. Raises NotFound, InputError
    (fleet file), IntegrityError, StorageError."""
    request = one_request(services.requests, name)
    entries = services.requests.request_entries(name)
    (found,) = looks.locate([request], days_a_week, log)
    holds = services.desk.store.holds(request.vehicle)
    names = {
        camera.channel: camera.name
        for vehicle in services.shelf.fleet().vehicles
        if vehicle.number == request.vehicle
        for camera in vehicle.cameras
    }
    channels = tuple(f"{one} {names.get(one, '')}".strip() for one in request.channels)
    placed = next((one for one in holds if one.id == request.hold), None)
    return RequestView(
        row_of(found, holds), last_hash(entries), tuple(entries[1:]), _line(found), channels, placed
    )


def row_of(found: Located, holds: Sequence[Hold]) -> Row:
    """A request as lists show it."""
    there = found.likely_there
    percent = None
    if there is not None:
        # Never better than it is: 100 is certainty, and what is not gone is not 0.
        percent = 100 if there >= 1 else 0 if there <= 0 else max(1, floor(there * 100))
    left = None
    if found.begins is not None and found.begins[0] > found.now:
        left = int((found.begins[0] - found.now) / timedelta(hours=1))
    return Row(found, _act(found), percent, keeping(found.request, holds), left)


def _act(found: Located) -> Act:
    if found.likely_there == 0:
        return "gone"
    if not found.fitted:
        return "elsewhere"
    if found.begins is not None:
        return "before" if found.begins[0] < FAR else "kept"
    return "kept" if found.likely_there == 1 else "unknown"


def _line(found: Located) -> TimeLine | None:
    """None where no hour is known, or one so far away that nothing else would be seen."""
    if found.begins is None or found.ends is None or found.ends[2] >= FAR:
        return None
    asked = found.request
    start, end = asked.start, max(found.ends[2], found.now)
    if end <= start:
        return None

    def at(moment: datetime) -> float:
        return (moment - start) / (end - start) * WIDE

    def bar(first: datetime, last: datetime) -> Bar:
        left = min(at(first), WIDE - LEAST)
        return Bar(round(left, 1), round(max(LEAST, at(last) - left), 1))

    going = bar(found.begins[0], found.ends[2])
    present, likely = round(at(found.now), 1), round(at(found.begins[1]), 1)
    return TimeLine(start, end, bar(asked.start, asked.end), present, going, likely)
