"""Fold what is known of one drive to where it is. Pure, and order-free: events are put into one
order first, by when they were taken down, then by log and number, so that it does not matter in
which order logs of several homes came together.

What does not go together is no error: it becomes a fault in the drive's story.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from asfound.calc.drive_names import register_id
from asfound.errors import IntegrityError
from asfound.model.drive_register import (
    DriveEvent,
    DriveState,
    Erasure,
    Fault,
    Handed,
    Judged,
    Place,
    Stay,
    Wipe,
)

PLACES = {"bag": Place.BAG, "desk": Place.DESK, "store": Place.STORE}
"""Where a drive can be put."""


def fold_drive(serial: str, events: Iterable[DriveEvent]) -> DriveState:
    """The state that the events of the drive ``serial`` (normalised) add up to.

    Raises IntegrityError for an event that does not read as one.
    """
    state = DriveState(serial, register_id(serial), serial)
    known = {(one.writer, one.seq): one for one in events}
    ordered = sorted(known.values(), key=lambda one: (one.at, one.writer, one.seq))
    for event in ordered:
        step = _STEPS.get(event.kind)
        try:
            if step is None:
                raise ValueError(event.kind)
            if not state.registered:
                # A visit spells it as somebody typed it.
                state = replace(state, spelled=str(event.data.get("serial", state.spelled)))
            state = step(state, event)
        except (KeyError, TypeError, ValueError):
            raise IntegrityError(
                f"drive {serial}: entry {event.seq} of log {event.writer} ({event.kind}) does not "
                "read as one; bring asfound up to date, or the database back from a copy"
            ) from None
    return replace(state, events=tuple(ordered))


def _registered(state: DriveState, event: DriveEvent) -> DriveState:
    data = event.data
    told = (str(data["kind"]), int(data["bytes"]))
    if state.registered and told != (state.kind, state.capacity_bytes):
        note = (
            f"{event.by} registered it as {told[0]} of {told[1]} bytes, {state.registered_by} as "
            f"{state.kind} of {state.capacity_bytes}: look at its label"
        )
        state = _with(state, Fault("differs", note, event.at))
    made = replace(
        state,
        spelled=str(data["serial"]),
        kind=told[0],
        capacity_bytes=told[1],
        model=str(data["model"]) or state.model,
        new=bool(data["new"]) or state.new,
        registered_by=event.by,
        registered_at=event.at,
    )
    vehicle = str(data["vehicle"])
    if vehicle and made.place is not Place.UNKNOWN:
        return _fitted(made, event)
    if vehicle:
        return _seen(made, event)
    if made.place is Place.UNKNOWN:
        return _at(made, event, Place.BAG, holder=event.by)
    return made


def _seen(state: DriveState, event: DriveEvent) -> DriveState:
    """It is said to be fitted, since when nobody knows: counts where nothing else is known."""
    if state.place is not Place.UNKNOWN:
        return state
    vehicle = str(event.data["vehicle"])
    state = replace(state, stays=(*state.stays, Stay(vehicle, None)))
    return replace(_at(state, event, Place.VEHICLE, vehicle=vehicle), since=None)


def _fitted(state: DriveState, event: DriveEvent) -> DriveState:
    vehicle = str(event.data["vehicle"])
    if state.vehicle == vehicle:
        return state
    if state.vehicle:
        state = _two_places(state, event, f"fitted in {vehicle}")
    else:
        state = _held_by(state, event, f"fitted in {vehicle}")
    state = replace(state, stays=(*state.stays, Stay(vehicle, event.when)))
    return _at(state, event, Place.VEHICLE, vehicle=vehicle)


def _pulled(state: DriveState, event: DriveEvent) -> DriveState:
    vehicle = str(event.data["vehicle"])
    if state.vehicle == vehicle:
        return _at(_out(state, event.when), event, Place.BAG, holder=event.by)
    last = state.stays[-1] if state.stays else None
    told = last is not None and last.vehicle == vehicle and _same(state.holder, event.by)
    if told and state.place is Place.BAG:
        # A visit and its technician both say so.
        return state
    if state.vehicle:
        state = _two_places(state, event, f"pulled from {vehicle}")
    else:
        state = _held_by(state, event, f"pulled from {vehicle}")
    # Since when it was there nobody said, but not before it was last seen elsewhere.
    start = max((stay.end for stay in state.stays if stay.end is not None), default=None)
    end = event.when if start is None else max(start, event.when)
    state = replace(state, stays=(*state.stays, Stay(vehicle, start, end)))
    return _at(state, event, Place.BAG, holder=event.by)


def _handed(state: DriveState, event: DriveEvent) -> DriveState:
    data, receiver = event.data, str(event.data["to"])
    state = _held_by(state, event, f"handed to {receiver}")
    made = Handed(
        event.by, receiver, str(data["reason"]), event.when,
        str(data.get("picture", "")), str(data["head"]),
    )  # fmt: skip
    state = replace(state, hands=(*state.hands, made))
    return _at(state, event, Place.BAG, holder=receiver)


def _put(state: DriveState, event: DriveEvent) -> DriveState:
    place = PLACES[event.data["place"]]
    state = _held_by(state, event, f"put into a {place.value}")
    # What lies in a store is nobody's: whoever takes it out says so.
    return _at(state, event, place, holder="" if place is Place.STORE else event.by)


def _found(state: DriveState, event: DriveEvent) -> DriveState:
    """Somebody looked and found it: what did not go together before is settled by that."""
    settled = tuple(replace(one, settled=True) for one in state.faults)
    state = _out(replace(state, faults=settled), event.when)
    return _at(state, event, Place.BAG, holder=event.by)


def _wiped(state: DriveState, event: DriveEvent) -> DriveState:
    data = event.data
    made = Wipe(
        Erasure(data["category"]), str(data["method"]), str(data["tool"]),
        str(data["verified_by"]), event.by, event.when, event.at,
    )  # fmt: skip
    if state.vehicle:
        note = f"wiped by {event.by} while it was fitted in {state.vehicle}"
        state = _with(state, Fault("two-places", note, event.at, state.vehicle))
    # Proof that came with a certificate comes when it is gone already.
    elif state.place is not Place.GONE:
        state = _held_by(state, event, "wiped")
    return replace(state, wipes=(*state.wipes, made))


def _checked(state: DriveState, event: DriveEvent) -> DriveState:
    data = event.data
    taken = datetime.fromisoformat(data["taken"]) if data["taken"] else None
    notes = tuple(str(line) for line in data["notes"])
    return replace(state, judged=Judged(str(data["verdict"]), notes, taken, event.by, event.at))


def _retired(state: DriveState, event: DriveEvent) -> DriveState:
    state = _held_by(state, event, "retired")
    how = str(event.data["how"])
    made = replace(state, retired_by=event.by, retired_at=event.when, retired_how=how)
    return _at(made, event, Place.GONE)


def _changed(state: DriveState, event: DriveEvent) -> DriveState:
    """A visit swapped or formatted the drive of this vehicle without saying which one."""
    vehicle = str(event.data["vehicle"])
    if state.vehicle != vehicle:
        return state
    note = f"visit {event.visit} swapped or formatted a drive in {vehicle}, and says not which"
    return _with(state, Fault("not-told", note, event.at, vehicle))


_STEPS: Mapping[str, Callable[[DriveState, DriveEvent], DriveState]] = {
    "registered": _registered,
    "seen": _seen,
    "fitted": _fitted,
    "pulled": _pulled,
    "handed": _handed,
    "put": _put,
    "found": _found,
    "wiped": _wiped,
    "checked": _checked,
    "retired": _retired,
    "changed": _changed,
}

MOVES = frozenset({"fitted", "pulled", "handed", "put", "found", "wiped", "retired"})
"""Kinds of event whose time may be said, never one before another of them."""


def _at(
    state: DriveState, event: DriveEvent, place: Place, *, vehicle: str = "", holder: str = ""
) -> DriveState:
    """Moved; whatever a visit left untold is told by where the drive is now."""
    faults = tuple(
        replace(one, settled=True) if one.kind == "not-told" else one for one in state.faults
    )
    return replace(
        state, place=place, vehicle=vehicle, holder=holder, where=str(event.data.get("where", "")),
        since=event.when, faults=faults,
    )  # fmt: skip


def _held_by(state: DriveState, event: DriveEvent, what: str) -> DriveState:
    """A fault unless whoever did it had the drive, or nobody in particular had it."""
    if state.vehicle:
        note = f"{what} by {event.by} while it was fitted in {state.vehicle}"
        fault = Fault("gap", note, event.at, state.vehicle)
        return _with(_out(state, event.when), fault)
    if state.place is Place.GONE:
        note = f"{what} by {event.by} although it had been retired"
        return _with(state, Fault("after-retired", note, event.at))
    if state.holder and not _same(state.holder, event.by):
        note = f"{what} by {event.by}, who did not have it: it was with {state.holder}"
        return _with(state, Fault("gap", note, event.at))
    return state


def _two_places(state: DriveState, event: DriveEvent, what: str) -> DriveState:
    note = f"{what} by {event.by} while it was fitted in {state.vehicle}"
    fault = Fault("two-places", note, event.at, state.vehicle)
    return _with(_out(state, event.when), fault)


def _out(state: DriveState, when: datetime) -> DriveState:
    """Out of whatever it is fitted in, at ``when``, or at its start if that lies later."""
    stays = tuple(
        replace(one, end=max(when, one.start or when)) if one.end is None else one
        for one in state.stays
    )
    return replace(state, stays=stays)


def _with(state: DriveState, fault: Fault) -> DriveState:
    return replace(state, faults=(*state.faults, fault))


def _same(name: str, other: str) -> bool:
    return name.casefold() == other.casefold()
