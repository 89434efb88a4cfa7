"""What footage should be on a drive, and what therefore locks wiping and retiring it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from asfound.errors import GateShut
from asfound.jobs.footage_requests import list_requests
from asfound.model.drive_register import Carries, DriveState
from asfound.model.footage_request import FootageRequest, RequestState
from asfound.model.hold import Hold
from asfound.ports.request_log import RequestLog
from asfound.ports.store import Store

SLACK = timedelta(days=1)
"""A swap that is written up in the evening was made at some hour of that day (own choice)."""


@dataclass(frozen=True, slots=True)
class Lock:
    """Why a drive must not be wiped or retired: by "fitted", or the ``id`` of a hold or request,
    and what to do about it."""

    by: str
    id: str
    why: str
    way_out: str


def carries(state: DriveState, vehicle: str, start: datetime, end: datetime) -> Carries:
    """Whether the footage of ``vehicle`` from ``start`` to ``end`` should be on the drive, if
    nothing overwrote it. A proof of erasure empties it; without a word of where it was, a drive may
    carry anything."""
    wiped = max((one.when for one in state.wipes if one.verified_by), default=None)
    for stay in state.stays:
        if stay.vehicle != vehicle:
            continue
        if stay.end is not None and wiped is not None and wiped >= stay.end:
            continue
        begun = stay.start is None or stay.start - SLACK <= end
        if begun and (stay.end is None or stay.end + SLACK >= start):
            return Carries.YES
    if not state.stays and not state.new and wiped is None:
        return Carries.COULD_NOT_TELL
    return Carries.NO


def locks(state: DriveState, *, store: Store, requests: RequestLog) -> tuple[Lock, ...]:
    """Everything that keeps the drive from being wiped or retired now."""
    return locked_by(state, store.holds(), list_requests(requests))


def locked_by(
    state: DriveState, holds: Sequence[Hold], requests: Sequence[FootageRequest]
) -> tuple[Lock, ...]:
    """The same, of all ``holds`` and ``requests``: for many drives at once."""
    return tuple(_locks(state, holds, requests))


def require_free(state: DriveState, what: str, *, store: Store, requests: RequestLog) -> None:
    """Raises GateShut unless nothing locks the drive; there is no way past a lock but its own."""
    found = locks(state, store=store, requests=requests)
    if found:
        first = found[0]
        why = f"{first.why} (and {len(found) - 1} more)" if len(found) > 1 else first.why
        locked = f"drive {state.spelled} must not be {what}: {why}"
        raise GateShut(f"{locked}; {first.way_out}")


def held_by(
    state: DriveState, holds: Sequence[Hold], requests: Sequence[FootageRequest]
) -> tuple[Lock, ...]:
    """What of these holds and requests locks the drive."""
    return tuple(_kept(state, holds, requests))


def _locks(
    state: DriveState, holds: Sequence[Hold], requests: Sequence[FootageRequest]
) -> Iterator[Lock]:
    if state.vehicle:
        yield Lock(
            "fitted", state.vehicle, f"it is fitted in {state.vehicle}",
            f"asfound drive pulled {state.spelled} --vehicle {state.vehicle} --by NAME "
            "--reason WHY",
        )  # fmt: skip
    yield from _kept(state, holds, requests)


def _kept(
    state: DriveState, holds: Sequence[Hold], requests: Sequence[FootageRequest]
) -> Iterator[Lock]:
    for hold in holds:
        if hold.active:
            told = carries(state, hold.vehicle, hold.start, hold.end)
            way = f"asfound hold release {hold.id} --by NAME --reason WHY"
            name = f"{hold.id} ({hold.reason})"
            yield from _lock(state, told, "hold", hold.id, name, hold.vehicle, way)
    for one in requests:
        if one.state is RequestState.OPEN:
            told = carries(state, one.vehicle, one.start, one.end)
            way = f"asfound request answer {one.id} --by NAME --reason WHY"
            name = f"{one.id} ({one.why})"
            yield from _lock(state, told, "request", one.id, name, one.vehicle, way)


def _lock(
    state: DriveState, told: Carries, by: str, name: str, shown: str, vehicle: str, way: str
) -> Iterable[Lock]:
    if told is Carries.YES:
        keeps = f"{shown} keeps footage of {vehicle} that should be on it"
        asks = f"{shown} asks for footage of {vehicle} that should be on it"
        yield Lock(by, name, keeps if by == "hold" else asks, way)
    elif told is Carries.COULD_NOT_TELL:
        yield Lock(
            by, name,
            f"nobody said where it recorded, so it may carry what {shown} is about",
            f"say from which vehicle it came: asfound drive pulled {state.spelled} "
            f"--vehicle VEHICLE --by NAME --reason WHY; or {way}",
        )  # fmt: skip
