"""Two people on one visit: a write is made against the journal's head that its page showed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from asfound.jobs.visit_journal import Desk
from asfound.model.hold import Hold
from asfound.model.journal import Entry
from asfound.model.key_tick import KeyTick
from asfound.model.place_picture import PlacePicture
from asfound.model.visit_line import EVERY, LineQuery, VisitLine
from asfound.ports.store import Store
from asfound.web.problems import Problem
from asfound.web.step_pages import N_


class HeadMoved(Problem):
    """A write was made against an older head; ``since`` are the entries that came after it."""

    def __init__(self, visit: str, since: Sequence[Entry], head: str) -> None:
        told = [
            {"seq": item.seq, "kind": item.kind, "by": item.by, "at": item.at.isoformat()}
            for item in since
        ]
        super().__init__(
            409,
            N_("somebody else wrote to this visit in between; look at what is new, send it again"),
            {"visit": visit, "head": head, "since": told},
        )
        self.since = tuple(since)


class StoreAt:
    """A store on which one visit may be written only while its journal ends with ``head``.

    The first look at the visit's entries is held against it; after that the store's own rule
    (an entry continues the one before) keeps others from writing in between.
    """

    def __init__(self, store: Store, visit: str, head: str) -> None:
        self._store = store
        self._visit = visit
        self._head = head
        self._checked = False

    def entries(self, visit: str) -> Sequence[Entry]:
        """All entries of a visit. Raises HeadMoved at the first look when it moved."""
        found = self._store.entries(visit)
        if visit == self._visit and found and not self._checked:
            if found[-1].hash != self._head:
                known = next((item.seq for item in found if item.hash == self._head), -1)
                raise HeadMoved(visit, found[known + 1 :], found[-1].hash)
            self._checked = True
        return found

    def append(self, entry: Entry) -> None:
        """Add an entry."""
        self._store.append(entry)

    def closed_entries(self, kind: str) -> Sequence[Entry]:
        """The entries of one kind of all closed visits."""
        return self._store.closed_entries(kind)

    def visits(self) -> Sequence[str]:
        """Ids of all visits, newest first."""
        return self._store.visits()

    def line_stamp(self) -> str:
        """Another text whenever a visit's line changed, came or went."""
        return self._store.line_stamp()

    def line_heads(self) -> Mapping[str, str]:
        """The last hash of every visit that has a line."""
        return self._store.line_heads()

    def lines(self, wanted: LineQuery = EVERY) -> Sequence[VisitLine]:
        """Visits in one line each, newest first."""
        return self._store.lines(wanted)

    def heads(self, visits: Sequence[str]) -> Mapping[str, tuple[int, str]]:
        """Number of entries and last hash of each of these visits that exists."""
        return self._store.heads(visits)

    def save_hold(self, hold: Hold) -> None:
        """Insert a hold, or update it."""
        self._store.save_hold(hold)

    def holds(self, vehicle: str | None = None) -> Sequence[Hold]:
        """Holds of one vehicle, or all, oldest first."""
        return self._store.holds(vehicle)

    def save_tick(self, tick: KeyTick) -> None:
        """Keep a tick on a re-key sheet."""
        self._store.save_tick(tick)

    def ticks(self, visit: str) -> Sequence[KeyTick]:
        """A visit's ticks, oldest first."""
        return self._store.ticks(visit)

    def ticks_stamp(self, visit: str) -> str:
        """Changes whenever a tick of the visit does."""
        return self._store.ticks_stamp(visit)

    def save_place_picture(self, picture: PlacePicture) -> None:
        """Keep the photograph of where a vehicle's recorder sits."""
        self._store.save_place_picture(picture)

    def place_pictures(self, vehicle: str) -> Sequence[PlacePicture]:
        """A vehicle's photographs of that place, newest first."""
        return self._store.place_pictures(vehicle)


def desk_at(desk: Desk, visit: str, head: str) -> Desk:
    """A desk whose acts on ``visit`` raise HeadMoved unless its journal ends with ``head``."""
    return replace(desk, store=StoreAt(desk.store, visit, head))
