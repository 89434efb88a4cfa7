"""Footage requests: taken down, answered, closed. Their log only grows; a hold may come along."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from asfound.calc.writer_tag import tagged
from asfound.errors import IntegrityError, NotFound, UsageError
from asfound.jobs.holds import YEARS, PlaceHold, place_hold
from asfound.jobs.visit_journal import named, reasoned, tidy
from asfound.model.fleet import Vehicle
from asfound.model.footage_request import FootageRequest, RequestState
from asfound.model.journal import Entry, chain_fault, next_entry, rfc3339
from asfound.ports.clock import Clock
from asfound.ports.request_log import RequestLog
from asfound.ports.store import Store

DELETIONS = "deletions"
"""The log of deletions of a home without a key, and what begins the name of one with a key;
every other log is a request's."""
MOST_AHEAD_S = 20 * 366 * 86_400.0
"""A recorder whose battery is flat begins some years back; more is a slip (own choice)."""
LONGEST_NUMBER = 60


@dataclass(frozen=True, slots=True)
class AddRequest:
    """Asked for: ``vehicle``'s footage from ``start`` to ``end`` (aware, true time) on
    ``channels`` (() = all); ``hold``: keep it until somebody releases it.
    ``writer``: the home's tag for its id (calc/writer_tag.py)."""

    vehicle: Vehicle
    start: datetime
    end: datetime
    channels: tuple[int, ...]
    why: str
    authority: str
    by: str
    clock_ahead_s: float = 0.0
    hold: bool = False
    writer: str = ""


class AskedWrong(UsageError):
    """A request that cannot be taken down; ``part`` is the field of ``AddRequest`` it is about."""

    def __init__(self, part: str, line: str) -> None:
        super().__init__(line)
        self.part = part


@dataclass(frozen=True, slots=True)
class EndRequest:
    """Answer or close the request ``id``; ``copies``: names of copies that were handed over."""

    id: str
    by: str
    reason: str
    copies: tuple[str, ...] = ()


def add_request(
    request: AddRequest, *, log: RequestLog, store: Store, clock: Clock
) -> FootageRequest:
    """Take it down, durable on return; the hold, if any, is durable before it.

    Raises UsageError (no name, reason or authority, times that cannot be, unknown channels),
    StorageError, IntegrityError.
    """
    by = named(request.by)
    why, authority = _tidied("why", request.why), _tidied("authority", request.authority)
    if not why:
        raise AskedWrong("why", "say what the footage is wanted for")
    if not authority:
        raise AskedWrong("authority", "say who may have it and by what right")
    now = present(log, clock)
    _checked(request, now)
    hold = ""
    if request.hold:
        first, last = held_span(request.start, request.end, request.clock_ahead_s)
        order = PlaceHold(request.vehicle, first, last, why, by, request.writer)
        hold = place_hold(order, store=store, clock=clock).id
    data = {
        "vehicle": request.vehicle.number, "start": rfc3339(request.start),
        "end": rfc3339(request.end), "channels": sorted(set(request.channels)), "why": why,
        "authority": authority, "clock_ahead_s": request.clock_ahead_s, "hold": hold,
    }  # fmt: skip
    spoken = re.sub(r"[^a-z0-9]+", "", request.vehicle.number.casefold()) or "vehicle"
    taken = {entry.visit for entry in log.request_entries()}
    counter = 1
    while True:
        name = tagged(f"ask-{spoken[:LONGEST_NUMBER]}", counter, request.writer)
        counter += 1
        if name in taken:
            continue
        entry = next_entry([], name, now, by, "asked", data)
        try:
            log.append_request(entry)
        except IntegrityError:
            # Someone else took this number since we looked; any other fault comes again.
            taken = {item.visit for item in log.request_entries()}
            if name not in taken:
                raise
        else:
            return _folded([entry])


def answer_request(request: EndRequest, *, log: RequestLog, clock: Clock) -> FootageRequest:
    """Say what came of it, and which copies were handed over. Raises NotFound, UsageError
    (closed already, no name or reason), IntegrityError, StorageError."""
    return _ended(request, "answered", log, clock)


def close_request(request: EndRequest, *, log: RequestLog, clock: Clock) -> FootageRequest:
    """Nothing more is to be done. Its hold stays until it is released. Raises as
    ``answer_request``."""
    return _ended(request, "closed", log, clock)


def deletion_log(writer: str) -> str:
    """The log of deletions of the home with this tag ("" = none)."""
    return f"{DELETIONS}-{writer}" if writer else DELETIONS


def of_deletions(log: str) -> bool:
    """Whether the log of this name is one of deletions."""
    return log == DELETIONS or log.startswith(f"{DELETIONS}-")


def list_requests(log: RequestLog, vehicle: str | None = None) -> tuple[FootageRequest, ...]:
    """Requests of one vehicle (its number), or all, oldest first. Raises IntegrityError."""
    logs: dict[str, list[Entry]] = {}
    for entry in log.request_entries():
        if not of_deletions(entry.visit):
            logs.setdefault(entry.visit, []).append(entry)
    made = [_folded(entries) for entries in logs.values()]
    return tuple(one for one in made if vehicle is None or one.vehicle == vehicle)


def one_request(log: RequestLog, name: str) -> FootageRequest:
    """The request of this id. Raises NotFound, IntegrityError."""
    entries = log.request_entries(name) if not of_deletions(name) else ()
    if not entries:
        raise NotFound(f"no request {tidy(name)!r}; `asfound request list` shows them")
    return _folded(entries)


def held_span(start: datetime, end: datetime, clock_ahead_s: float) -> tuple[datetime, datetime]:
    """What a hold on a request's footage covers: whoever looks by the recorder's stamps, and
    whoever looks by true time, finds it held."""
    ahead = timedelta(seconds=clock_ahead_s)
    return min(start, start + ahead), max(end, end + ahead)


def present(log: RequestLog, clock: Clock) -> datetime:
    """Now, and never before what was written last: a clock that was set back makes nothing
    younger."""
    return max([clock.now(), *(entry.at for entry in log.request_entries())])


def _tidied(part: str, text: str) -> str:
    try:
        return tidy(text)
    except UsageError as error:
        raise AskedWrong(part, str(error)) from None


def _checked(request: AddRequest, now: datetime) -> None:
    for part, at in (("start", request.start), ("end", request.end)):
        if at.tzinfo is None:
            raise AskedWrong(part, "a request's times need a zone, e.g. 2026-11-25T08:00:00+01:00")
        if at.year not in YEARS:
            raise AskedWrong(
                part,
                f"a request's times lie in the years {YEARS[0]} to {YEARS[-1]}; look at them",
            )
    if request.end <= request.start:
        raise AskedWrong("end", "the request ends before it starts; exchange its two times")
    if request.start > now:
        raise AskedWrong(
            "start",
            f"that lies in the future (this computer's clock says {rfc3339(now)[:16]}Z); "
            "look at the time, and at the clock",
        )
    if not math.isfinite(request.clock_ahead_s) or abs(request.clock_ahead_s) > MOST_AHEAD_S:
        raise AskedWrong("clock_ahead_s", "no recorder's clock is that far off; give seconds")
    fitted = {camera.channel for camera in request.vehicle.cameras}
    unknown = sorted(set(request.channels) - fitted)
    if unknown:
        listed = ", ".join(str(number) for number in sorted(fitted)) or "none"
        raise AskedWrong(
            "channels",
            f"vehicle {request.vehicle.number} has no channel {unknown[0]}; it has {listed}",
        )


def _ended(request: EndRequest, kind: str, log: RequestLog, clock: Clock) -> FootageRequest:
    by, reason = named(request.by), reasoned(request.reason)
    copies = [name for name in map(tidy, request.copies) if name]
    standing = one_request(log, request.id)
    if standing.state is RequestState.CLOSED:
        raise UsageError(f"request {standing.id} was closed by {standing.done_by} already")
    entries = list(log.request_entries(request.id))
    data = {"note": reason, "copies": copies}
    entry = next_entry(entries, request.id, present(log, clock), by, kind, data)
    log.append_request(entry)
    return _folded([*entries, entry])


def _folded(entries: Sequence[Entry]) -> FootageRequest:
    name = entries[0].visit
    fault = chain_fault(entries)
    if fault is None:
        try:
            made = _asked(entries[0], entries[0].data)
            for entry in entries[1:]:
                made = _after(made, entry)
        except (KeyError, TypeError, ValueError):
            fault = "an entry does not read as one"
        else:
            return made
    raise IntegrityError(f"request {name}: {fault}; bring the database back from a copy")


def _asked(entry: Entry, data: Mapping[str, Any]) -> FootageRequest:
    return FootageRequest(
        entry.visit,
        str(data["vehicle"]),
        datetime.fromisoformat(data["start"]),
        datetime.fromisoformat(data["end"]),
        tuple(int(number) for number in data["channels"]),
        str(data["why"]),
        str(data["authority"]),
        entry.by,
        entry.at,
        float(data["clock_ahead_s"]),
        str(data["hold"]),
    )


def _after(request: FootageRequest, entry: Entry) -> FootageRequest:
    return replace(
        request,
        state=RequestState(entry.kind),
        note=str(entry.data["note"]),
        copies=(*request.copies, *(str(name) for name in entry.data["copies"])),
        done_by=entry.by,
        done_at=entry.at,
    )
