"""The register of drives: where each drive was and with whom, what it was wiped by, how it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any

DRIVE_KINDS = ("hdd", "ssd", "card", "other")
"""Hard disk, solid state drive, memory card; as the fleet file calls them, and what is none."""


class Place(StrEnum):
    """What kind of place a drive is at."""

    UNKNOWN = "unknown"
    VEHICLE = "vehicle"
    BAG = "bag"
    DESK = "desk"
    STORE = "store"
    GONE = "gone"


class Erasure(StrEnum):
    """Categories of NIST SP 800-88 (Rev. 1, 2014, section 2.5; Rev. 2, 2025, keeps them); titles
    and numbers from memory."""

    CLEAR = "clear"
    PURGE = "purge"
    DESTROY = "destroy"


class Carries(StrEnum):
    """Whether footage should be on a drive; could-not-tell never counts as no."""

    YES = "yes"
    NO = "no"
    COULD_NOT_TELL = "could-not-tell"


@dataclass(frozen=True, slots=True)
class DriveEvent:
    """What happened to one drive, as ``writer``'s log says in its entry ``seq`` (``hash``), taken
    down at ``at``; ``visit`` is the visit that says it ("" = the register does)."""

    at: datetime
    writer: str
    seq: int
    by: str
    kind: str
    data: Mapping[str, Any]
    visit: str = ""
    hash: str = ""

    @property
    def when(self) -> datetime:
        """When it happened: what was said, else when it was taken down."""
        said = self.data.get("when")
        return datetime.fromisoformat(said) if said else self.at


@dataclass(frozen=True, slots=True)
class Stay:
    """Fitted in ``vehicle`` from ``start`` (None: not known) until ``end`` (None: still is)."""

    vehicle: str
    start: datetime | None
    end: datetime | None = None


@dataclass(frozen=True, slots=True)
class Wipe:
    """A recorded proof of erasure; nobody's check ("" in ``verified_by``) proves nothing."""

    category: Erasure
    method: str
    tool: str
    verified_by: str
    by: str
    when: datetime
    at: datetime


@dataclass(frozen=True, slots=True)
class Judged:
    """What `asfound drive health` said of the drive, from a report taken at ``taken``."""

    verdict: str
    notes: tuple[str, ...]
    taken: datetime | None
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Handed:
    """A hand-over: signed by ``receiver``, with a ``picture`` (blob) or by the name alone (""), for
    what the log said up to the entry whose hash is ``head``."""

    giver: str
    receiver: str
    reason: str
    at: datetime
    picture: str = ""
    head: str = ""


@dataclass(frozen=True, slots=True)
class Fault:
    """What does not go together in a drive's story; ``settled`` by somebody who found the drive
    and said so."""

    kind: str
    note: str
    at: datetime
    vehicle: str = ""
    settled: bool = False


@dataclass(frozen=True)
class DriveState:
    """One drive, folded from everything that is known of it.

    ``serial`` is the normalised serial number and ``spelled`` as it was typed; ``vehicle`` is set
    where it is fitted, ``holder`` where somebody has it. ``new``: it had recorded nothing when it
    was registered.
    """

    serial: str
    id: str
    spelled: str = ""
    kind: str = ""
    capacity_bytes: int = 0
    model: str = ""
    registered_by: str = ""
    registered_at: datetime | None = None
    new: bool = False
    place: Place = Place.UNKNOWN
    vehicle: str = ""
    holder: str = ""
    where: str = ""
    since: datetime | None = None
    stays: tuple[Stay, ...] = ()
    wipes: tuple[Wipe, ...] = ()
    hands: tuple[Handed, ...] = ()
    judged: Judged | None = None
    retired_by: str = ""
    retired_at: datetime | None = None
    retired_how: str = ""
    faults: tuple[Fault, ...] = ()
    events: tuple[DriveEvent, ...] = field(default=(), repr=False)

    @property
    def registered(self) -> bool:
        """True when somebody registered it; visits and fleet files may name others."""
        return self.registered_at is not None

    @property
    def last_out(self) -> datetime | None:
        """When it last came out of a vehicle; None: it never did."""
        ends = [stay.end for stay in self.stays if stay.end is not None]
        return max(ends) if ends else None

    @property
    def proof(self) -> Wipe | None:
        """The proof of erasure that still counts: verified, and nothing was recorded since."""
        if any(stay.end is None for stay in self.stays):
            return None
        out = self.last_out
        sound = [one for one in self.wipes if one.verified_by and (out is None or one.when >= out)]
        return sound[-1] if sound else None


@dataclass(frozen=True, slots=True)
class DriveFound:
    """A finding of the register: ``kind`` (docs/drives.md), which drive and vehicle ("" = none),
    what is the matter, and since when."""

    kind: str
    serial: str
    note: str
    vehicle: str = ""
    at: datetime | None = None
