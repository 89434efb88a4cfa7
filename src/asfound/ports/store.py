"""The store of journals and holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

from asfound.model.hold import Hold
from asfound.model.journal import Entry
from asfound.model.key_tick import KeyTick
from asfound.model.place_picture import PlacePicture
from asfound.model.visit_line import EVERY, LineQuery, VisitLine


class Store(Protocol):
    """Journals by visit, and holds. Every write is durable when the call returns."""

    def append(self, entry: Entry) -> None:
        """Add an entry. Raises StorageError, and IntegrityError when ``entry`` does not
        continue the stored chain (somebody else wrote in between)."""
        ...

    def entries(self, visit: str) -> Sequence[Entry]:
        """All entries of a visit in order; empty when there is no such visit."""
        ...

    def closed_entries(self, kind: str) -> Sequence[Entry]:
        """The entries of one kind of all closed visits, visit by visit in the order of their ids,
        each visit's in order, without folding a journal: their chains are not checked. Raises
        StorageError, IntegrityError (altered beyond reading)."""
        ...

    def visits(self) -> Sequence[str]:
        """Ids of all visits, newest first."""
        ...

    def lines(self, wanted: LineQuery = EVERY) -> Sequence[VisitLine]:
        """Visits in one line each, newest first, without folding a journal: the time does not
        depend on how many entries there are. Raises StorageError, IntegrityError."""
        ...

    def line_heads(self) -> Mapping[str, str]:
        """The last hash of every visit that has a line. Raises StorageError."""
        ...

    def line_stamp(self) -> str:
        """Another text whenever a visit's line changed, came or went; sooner told than all heads.
        Raises StorageError."""
        ...

    def heads(self, visits: Sequence[str]) -> Mapping[str, tuple[int, str]]:
        """Number of entries and last hash of each of these visits that exists."""
        ...

    def save_hold(self, hold: Hold) -> None:
        """Insert a hold, or update it (a release). Raises StorageError."""
        ...

    def holds(self, vehicle: str | None = None) -> Sequence[Hold]:
        """Holds of one vehicle, or all, oldest first."""
        ...

    def save_tick(self, tick: KeyTick) -> None:
        """Keep a tick on a re-key sheet, in place of an earlier one of its mark. Raises
        StorageError."""
        ...

    def ticks(self, visit: str) -> Sequence[KeyTick]:
        """A visit's ticks, oldest first, those taken back among them."""
        ...

    def ticks_stamp(self, visit: str) -> str:
        """Changes whenever a tick of the visit does; "" while there is none."""
        ...

    def save_place_picture(self, picture: PlacePicture) -> None:
        """Keep the photograph of where a vehicle's recorder sits; earlier ones stay behind it.
        Raises StorageError."""
        ...

    def place_pictures(self, vehicle: str) -> Sequence[PlacePicture]:
        """A vehicle's photographs of that place, newest first, those taken away among them."""
        ...
