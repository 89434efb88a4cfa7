"""A bundle: what one store tells another of visits, and what came of taking it in."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from enum import StrEnum

from asfound.model.hold import Hold
from asfound.model.journal import Entry, canonical_json, rfc3339
from asfound.model.key_tick import KeyTick
from asfound.model.place_picture import PlacePicture

TWIN_SIGN = "~"
"""Parts the id of a hold from what tells it from another one of the same id."""


class Book(StrEnum):
    """Kinds of logs that are chained by hashes."""

    VISIT = "visit"
    REQUEST = "request"
    DRIVE = "drive"


@dataclass(frozen=True, slots=True)
class Bundle:
    """Entries of whole logs, branches that were set aside among them; holds, ticks and
    photographs of places on the vehicles; logs of drives. ``writer``: the public key in
    hexadecimal figures."""

    writer: str
    visits: tuple[Entry, ...] = ()
    requests: tuple[Entry, ...] = ()
    holds: tuple[Hold, ...] = ()
    ticks: tuple[KeyTick, ...] = ()
    places: tuple[PlacePicture, ...] = ()
    drives: tuple[Entry, ...] = ()


@dataclass(frozen=True, slots=True)
class Fork:
    """A log of which another branch is kept, set aside: ``entries`` of it do not count."""

    book: Book
    log: str
    entries: int


@dataclass(frozen=True, slots=True)
class Merged:
    """What was new here. ``visits``, ``requests`` and ``drives`` are ids of logs that were unknown
    or grew; ``entries`` counts all that were unknown; ``forks`` are logs with a branch set
    aside, new or not; ``twins`` holds that had the id of another one."""

    visits: tuple[str, ...] = ()
    requests: tuple[str, ...] = ()
    entries: int = 0
    holds: int = 0
    releases: int = 0
    ticks: int = 0
    places: int = 0
    forks: tuple[Fork, ...] = ()
    twins: tuple[str, ...] = ()
    drives: tuple[str, ...] = ()

    @property
    def nothing(self) -> bool:
        """True when all of it was known."""
        return not (self.entries or self.holds or self.releases or self.ticks or self.places)


def plain_id(hold_id: str) -> str:
    """The id that a hold was placed under."""
    return hold_id.partition(TWIN_SIGN)[0]


def order_key(hold: Hold) -> str:
    """SHA-256 of the order alone: two holds of one id are the same order or they are not."""
    told = [plain_id(hold.id), hold.vehicle, rfc3339(hold.start), rfc3339(hold.end), hold.reason,
            hold.placed_by, rfc3339(hold.placed_at)]  # fmt: skip
    return hashlib.sha256(canonical_json(told).encode("utf-8")).hexdigest()
