"""Requests for footage behind pages: where it is, and writes against the head a page showed."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from datetime import datetime

from asfound.errors import UsageError
from asfound.jobs.drive_memory import DriveMemory
from asfound.jobs.footage_requests import held_span, list_requests, of_deletions, present
from asfound.jobs.holds import PlaceHold, place_hold
from asfound.jobs.request_known import LAST, Known, known_of
from asfound.jobs.request_look import WEEK_D, LookFor, Sources, look_for
from asfound.jobs.request_where import Located, in_order
from asfound.model.coverage import IgnitionLog
from asfound.model.drive_register import DriveState
from asfound.model.footage_request import FootageRequest, RequestState
from asfound.model.hold import Hold
from asfound.model.journal import Entry
from asfound.model.visit_line import LineQuery
from asfound.ports.request_log import RequestLog
from asfound.web.problems import Problem
from asfound.web.services import HoursFile, Services
from asfound.web.step_pages import N_

KEPT = 200
"""Vehicles whose visits stay folded in memory."""


class LogMoved(Problem):
    """A write was made against an older head; ``since`` are the entries that came after it."""

    def __init__(self, log: str, since: Sequence[Entry], head: str) -> None:
        told = [
            {"seq": item.seq, "kind": item.kind, "by": item.by, "at": item.at.isoformat()}
            for item in since
        ]
        line = N_("somebody else wrote here in between; look at what is new, send it again")
        super().__init__(409, line, {"request": log, "head": head, "since": told})
        self.since = tuple(since)


class LogAt:
    """Logs of which one may be written only while it ends with ``head``: held against it at the
    first look; after that the store's own rule keeps others from writing in between."""

    def __init__(self, requests: RequestLog, log: str, head: str) -> None:
        self._requests = requests
        self._log = log
        self._head = head
        self._checked = False

    def append_request(self, entry: Entry) -> None:
        """Add an entry."""
        self._requests.append_request(entry)

    def request_entries(self, log: str | None = None) -> Sequence[Entry]:
        """The entries of one log, or of all. Raises LogMoved at the first look at this one when
        it moved."""
        found = self._requests.request_entries(log)
        if log == self._log and not self._checked:
            # A request that is not there is told by whoever asks for it.
            if (found or of_deletions(log)) and last_hash(found) != self._head:
                known = next((item.seq for item in found if item.hash == self._head), -1)
                raise LogMoved(log, found[known + 1 :], last_hash(found))
            self._checked = True
        return found


def last_hash(entries: Sequence[Entry]) -> str:
    """The head of a log; "" while it is empty."""
    return entries[-1].hash if entries else ""


def log_head(requests: RequestLog, log: str) -> str:
    """What a write to this log must name."""
    return last_hash(requests.request_entries(log))


class Looks:
    """Says where footage is. What a vehicle's visits tell is kept as long as none of them grew:
    folding them takes much longer than a page may."""

    def __init__(self, services: Services) -> None:
        self._services = services
        self._register = DriveMemory()
        self._known: OrderedDict[str, tuple[object, Known]] = OrderedDict()
        self._lock = threading.Lock()

    def locate(
        self,
        requests: Sequence[FootageRequest],
        days_a_week: float = WEEK_D,
        log: IgnitionLog | None = None,
    ) -> tuple[Located, ...]:
        """Each with its answer, in the order given; a ``log`` is of the one vehicle of all.
        Raises NotFound, InputError (fleet file), IntegrityError, StorageError."""
        services = self._services
        asked = LookFor(services.shelf.fleet(), tuple(requests), self.now(), days_a_week, log)
        sources = Sources(self._of, services.shelf.menu_map, self.drives)
        return look_for(asked, sources)

    def waiting(self) -> tuple[Located, ...]:
        """Open requests, what to do first on top. Raises as ``locate``."""
        found = list_requests(self._services.requests)
        return in_order(self.locate([one for one in found if one.state is RequestState.OPEN]))

    def now(self) -> datetime:
        """The present, and never before what was written last."""
        return present(self._services.requests, self._services.desk.clock)

    def drives(self) -> tuple[DriveState, ...]:
        """Every drive that the register or a visit names. Raises IntegrityError, StorageError."""
        return self._register.drives(self._services.drives, self._services.desk.store)

    def _of(self, vehicle: str) -> Known:
        desk = self._services.desk
        lines = desk.store.lines(LineQuery(vehicles=(vehicle,), limit=LAST))
        stamp = tuple((line.id, line.head) for line in lines)
        with self._lock:
            kept = self._known.get(vehicle)
            if kept is not None and kept[0] == stamp:
                self._known.move_to_end(vehicle)
                return kept[1]
        made = known_of(vehicle, store=desk.store, blobs=desk.blobs)
        with self._lock:
            self._known[vehicle] = (stamp, made)
            while len(self._known) > KEPT:
                self._known.popitem(last=False)
        return made


def keeping(request: FootageRequest, holds: Sequence[Hold]) -> tuple[Hold, ...]:
    """Active holds that cover all of the footage that is asked for."""
    return tuple(
        hold
        for hold in holds
        if hold.active
        and hold.vehicle == request.vehicle
        and hold.start <= request.start
        and hold.end >= request.end
    )


def hold_for(request: FootageRequest, by: str, services: Services) -> Hold:
    """Place a hold on what the request asks for. Raises NotFound, UsageError, StorageError."""
    first, last = held_span(request.start, request.end, request.clock_ahead_s)
    vehicle = services.shelf.fleet().vehicle(request.vehicle)
    desk = services.desk
    order = PlaceHold(vehicle, first, last, request.why, by, desk.writer)
    return place_hold(order, store=desk.store, clock=desk.clock)


def log_sent(
    file: tuple[str, bytes], called: str, request: FootageRequest, services: Services
) -> IgnitionLog:
    """What an ignition log (its name and bytes) says of the request's vehicle, which it may have
    ``called`` otherwise. Raises UsageError (a schedule), NotFound (the vehicle does not stand in
    it), InputError."""
    vehicle = services.shelf.fleet().vehicle(request.vehicle)
    own = (vehicle.number, vehicle.plate)
    made = services.tools.hours(HoursFile(*file, called.strip(), own))
    if not isinstance(made, IgnitionLog):
        raise UsageError(
            "a schedule says when the vehicle should drive, not when it did; choose an ignition "
            "log (CSV)"
        )
    return made
