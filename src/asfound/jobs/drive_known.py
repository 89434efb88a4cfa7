"""What the register knows of a vehicle's drives, for whoever looks for its footage."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

from asfound.calc.drive_names import same_serial
from asfound.jobs.drive_findings import where_text
from asfound.jobs.drive_locks import SLACK
from asfound.jobs.request_known import Swap
from asfound.model.drive_register import DriveState, Stay

REGISTER = "register"
"""What stands for a visit where the register itself says that a drive came out."""
EARLIEST = datetime(1, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class DriveNow:
    """Where a drive is, in words; when it was last wiped (verified), and where it was ``fitted``
    since when."""

    place: str
    wiped: datetime | None = None
    fitted: tuple[tuple[datetime, str], ...] = ()

    def reused(self, since: datetime) -> str:
        """The first vehicle that it was fitted in after ``since``; "" = none."""
        return next((vehicle for at, vehicle in self.fitted if at > since), "")


@dataclass(frozen=True, slots=True)
class DrivesOf:
    """``serial`` of the drive in the vehicle now ("" = not known), ``swaps``, oldest first, and
    the ``drives`` that these name by normalised serial number."""

    serial: str
    swaps: tuple[Swap, ...]
    drives: Mapping[str, DriveNow] = field(default_factory=dict)


def drives_of(
    vehicle: str, named: str, swaps: Sequence[Swap], drives: Sequence[DriveState]
) -> DrivesOf:
    """What is known of the vehicle's drives: by the register where somebody used it for this
    vehicle, else by the fleet file, which says that ``named`` is fitted, and visits' ``swaps``."""
    stays = sorted(
        (
            (stay, one.spelled)
            for one in drives
            for stay in one.stays
            if stay.vehicle == vehicle and _told(one)
        ),
        key=lambda each: (each[0].start or EARLIEST, each[0].end is None, each[1]),
    )
    if not stays:
        return _with_drives(DrivesOf(named, tuple(swaps)), drives)
    fitted = [serial for stay, serial in stays if stay.end is None]
    made = [*_register_swaps(stays), *_visit_swaps(stays, swaps)]
    found = DrivesOf(fitted[-1] if fitted else "", tuple(sorted(made, key=_by_time)))
    return _with_drives(found, drives)


def _with_drives(found: DrivesOf, drives: Sequence[DriveState]) -> DrivesOf:
    named = {same_serial(one) for one in (found.serial, *(swap.serial for swap in found.swaps))}
    return replace(found, drives={one.serial: _now(one) for one in drives if one.serial in named})


def _by_time(swap: Swap) -> tuple[datetime, bool]:
    return swap.at, not swap.serial


def _now(state: DriveState) -> DriveNow:
    wiped = max((one.when for one in state.wipes if one.verified_by), default=None)
    fitted = tuple((one.start, one.vehicle) for one in state.stays if one.start is not None)
    return DriveNow(where_text(state), wiped, fitted)


def _told(state: DriveState) -> bool:
    """More than a visit's copy of the fleet file says that it was in a vehicle."""
    return state.registered or any(one.kind in ("fitted", "pulled") for one in state.events)


def _register_swaps(stays: Sequence[tuple[Stay, str]]) -> Iterator[Swap]:
    """Each drive that came out and was not the next to go in; and each that went in where the
    register does not know what was there before."""
    before: datetime | None = EARLIEST
    for number, (stay, serial) in enumerate(stays):
        if stay.start is not None and before is not None and stay.start - before > SLACK:
            yield Swap(REGISTER, "", stay.start)
        before = stay.end
        back = number + 1 < len(stays) and stays[number + 1][1] == serial
        if stay.end is not None and not back:
            yield Swap(REGISTER, serial, stay.end)


def _visit_swaps(stays: Sequence[tuple[Stay, str]], told: Sequence[Swap]) -> Iterator[Swap]:
    """What visits tell and the register does not know yet."""
    for swap in told:
        same = [
            one
            for one, serial in stays
            if one.end is not None
            and abs(one.end - swap.at) <= SLACK
            and same_serial(serial) in (same_serial(swap.serial), "")
        ]
        if same:
            continue
        # A fleet file may lag behind: what is known to have gone in before counts more.
        inside = [
            serial
            for one, serial in stays
            if one.start is not None and one.start < swap.at and (not one.end or swap.at < one.end)
        ]
        yield replace(swap, serial=inside[-1]) if inside else swap
