"""Holds: place an order to keep footage, and release it with a name and a reason."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from asfound.calc.writer_tag import tagged
from asfound.errors import IntegrityError, NotFound, UsageError
from asfound.jobs.visit_journal import named, reasoned
from asfound.model.fleet import Vehicle
from asfound.model.hold import Hold
from asfound.ports.clock import Clock
from asfound.ports.store import Store

YEARS = range(2000, 2100)
"""Years that footage can be of; anything else is a slip of the key."""


@dataclass(frozen=True, slots=True)
class PlaceHold:
    """Keep the footage of ``vehicle`` from ``start`` to ``end`` (aware). ``writer``: the
    home's tag for its id (calc/writer_tag.py)."""

    vehicle: Vehicle
    start: datetime
    end: datetime
    reason: str
    by: str
    writer: str = ""


@dataclass(frozen=True, slots=True)
class ReleaseHold:
    """Release the hold ``id``: the footage is safe elsewhere, or no longer needed."""

    id: str
    by: str
    reason: str


def place_hold(request: PlaceHold, *, store: Store, clock: Clock) -> Hold:
    """Place the hold, durable on return; its id is like ``hold-217-1``.

    Raises UsageError (no name or reason, times without zone or reversed), StorageError.
    """
    by, reason = named(request.by), reasoned(request.reason)
    if request.start.tzinfo is None or request.end.tzinfo is None:
        raise UsageError("a hold's times need a zone, e.g. 2026-11-25T08:00:00+01:00")
    if not all(at.year in YEARS for at in (request.start, request.end)):
        raise UsageError(
            f"a hold's times lie in the years {YEARS[0]} to {YEARS[-1]}; look at --from and --to"
        )
    if request.end < request.start:
        raise UsageError("the hold ends before it starts; exchange --from and --to")
    number = request.vehicle.number
    spoken = re.sub(r"[^a-z0-9]+", "", number.casefold()) or "vehicle"
    taken = {hold.id for hold in store.holds()}
    counter = 1
    while True:
        name = tagged(f"hold-{spoken}", counter, request.writer)
        counter += 1
        if name in taken:
            continue
        hold = Hold(name, number, request.start, request.end, reason, by, clock.now())
        try:
            store.save_hold(hold)
        except IntegrityError:
            # Someone else took this number since we looked; any other fault comes again.
            taken = {item.id for item in store.holds()}
            if name not in taken:
                raise
        else:
            return hold


def release_hold(request: ReleaseHold, *, store: Store, clock: Clock) -> Hold:
    """Release the hold, durable on return. Raises NotFound, UsageError (released already, no
    name or reason), IntegrityError (released meanwhile), StorageError."""
    by, reason = named(request.by), reasoned(request.reason)
    hold = next((item for item in store.holds() if item.id == request.id), None)
    if hold is None:
        raise NotFound(f"no hold {request.id!r}; `asfound hold list` shows them")
    if not hold.active:
        raise UsageError(f"hold {hold.id} was released by {hold.released_by} already")
    released = replace(hold, released_by=by, release_reason=reason, released_at=clock.now())
    store.save_hold(released)
    return released


def list_holds(vehicle: str | None = None, *, store: Store) -> Sequence[Hold]:
    """Holds of one vehicle (its number), or all, oldest first."""
    return store.holds(vehicle)
