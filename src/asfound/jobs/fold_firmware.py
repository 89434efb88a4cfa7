"""Fold what a visit's journal says of the firmware to put on, and of the stick that holds it."""

from __future__ import annotations

from dataclasses import replace

from asfound.model.firmware_choice import FirmwareChoice, StickSeen
from asfound.model.journal import Entry
from asfound.model.stick import StickVerdict
from asfound.model.visit import VisitState
from asfound.ports.documents import from_data


def firmware_chosen(state: VisitState, entry: Entry) -> VisitState:
    """With the choice of the entry in place of an earlier one."""
    made = from_data(FirmwareChoice, entry.data["choice"], _where(entry))
    return replace(state, choice=replace(made, by=entry.by, at=entry.at, entry=entry.seq))


def stick_checked(state: VisitState, entry: Entry) -> VisitState:
    """With the stick of the entry in place of an earlier one; images seen whole are remembered."""
    made = from_data(StickSeen, entry.data["stick"], _where(entry))
    seen = (made.sha256,) if made.verdict == StickVerdict.UNCHANGED else ()
    return replace(
        state,
        stick=replace(made, by=entry.by, at=entry.at, entry=entry.seq),
        images_seen=(*state.images_seen, *seen),
    )


def _where(entry: Entry) -> str:
    return f"visit {entry.visit}, entry {entry.seq}"
