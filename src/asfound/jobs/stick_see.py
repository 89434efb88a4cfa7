"""What lies on a stick, without reading an image: room, slip, and what each recorder would find."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from asfound.errors import InputError
from asfound.jobs.stick_check import slip_of
from asfound.jobs.stick_look import PARTS, images, kind_findings, not_ours
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import Entry, Slip, StickFacts, StickFinding
from asfound.ports.stick import Stick


@dataclass(frozen=True, slots=True)
class RecorderSees:
    """What a recorder finds where it looks for firmware."""

    recorder: str
    place: FirmwarePlace
    images: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class StickSeen:
    """``slip``: None where there is none that can be read (``slip_fault`` says why, "": there is
    none). ``others``: what is no image of ``recorders`` and not ours. ``interrupted``: a
    preparation did not end."""

    facts: StickFacts
    slip: Slip | None
    slip_fault: str
    recorders: tuple[RecorderSees, ...]
    others: tuple[Entry, ...]
    interrupted: bool
    findings: tuple[StickFinding, ...]


def see_stick(places: Sequence[tuple[str, FirmwarePlace]], *, stick: Stick) -> StickSeen:
    """The stick as it is now, for recorders by name. Writes nothing. Raises UsageError, NotFound,
    StorageError."""
    stick.begin()
    try:
        facts, entries = stick.facts(), stick.entries()
        slip, fault = None, ""
        try:
            slip = slip_of(entries, stick)
        except InputError as error:
            fault = str(error)
    finally:
        stick.end()
    sees = tuple(RecorderSees(name, place, images(entries, place)) for name, place in places)
    taken = {one.path for each in sees for one in each.images}
    others = not_ours(entries, slip.image if slip is not None else "")
    return StickSeen(
        facts,
        slip,
        fault,
        sees,
        tuple(one for one in others if one.path not in taken),
        any(one.path in PARTS for one in entries),
        kind_findings(facts),
    )
