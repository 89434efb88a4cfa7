"""The recorder's clock against the phone's, from the photographs of a reading."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from asfound.calc.clock_offset import Against, clock_offset
from asfound.calc.shown_clock import ShownClock, clock_shot, shown_clock, zone_seconds
from asfound.errors import UsageError
from asfound.model.clock import PHONE_ERROR_S, ClockOffset
from asfound.model.menu_map import MenuMap
from asfound.model.reading import PhotoReading, Reading, State
from asfound.model.visit import VisitState
from asfound.ports.pictures import Picture

LONGEST_ERROR_S = 86_400.0


@dataclass(frozen=True, slots=True)
class ClockFacts:
    """What a person knows about the clocks.

    ``zone``: whose local time the recorder should show, an IANA name or an offset such as
    "+01:00" ("": as the recorder is set, else as the phone). ``phone_zone``: the same for the
    phone, for photographs that have no offset tag. ``phone_error_s``: how far the phone's own
    clock may be off, either way, in seconds.
    """

    zone: str = ""
    phone_zone: str = ""
    phone_error_s: float = PHONE_ERROR_S


NO_FACTS = ClockFacts()
"""Nothing is known but what the photographs say."""


def check_facts(facts: ClockFacts) -> None:
    """Raises UsageError when a zone is not known or the phone's error is no length of time."""
    for name in (facts.zone, facts.phone_zone):
        if name:
            named_zone(name)
    if not 0.0 <= facts.phone_error_s <= LONGEST_ERROR_S:
        raise UsageError(
            f"phone error {facts.phone_error_s:g} s: give 0 to {LONGEST_ERROR_S:.0f} seconds"
        )


def named_zone(name: str) -> tzinfo:
    """The zone called ``name``: IANA, or an offset from UTC (+HH:MM). Raises UsageError."""
    if found := re.fullmatch(r"([+-])(\d{2}):([0-5]\d)", name):
        shift = timedelta(hours=int(found[2]), minutes=int(found[3]))
        if shift < timedelta(hours=24):
            return timezone(-shift if found[1] == "-" else shift)
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise UsageError(
            f"time zone {name!r} is not known; use an IANA name such as Europe/Madrid, or +HH:MM"
        ) from None


def timed(photo: PhotoReading, picture: Picture, facts: ClockFacts) -> PhotoReading:
    """The photograph with its capture time, aware where tag or person say the phone's zone."""
    taken = picture.taken
    if taken is not None and taken.utcoffset() is None and facts.phone_zone:
        taken = _in_zone(taken, named_zone(facts.phone_zone))
    slack = picture.exposure_s + (picture.frame.within_s if picture.frame else 0.0)
    return replace(photo, taken=taken, taken_step_s=picture.taken_step_s, taken_slack_s=slack)


def with_clock(menu_map: MenuMap, reading: Reading, facts: ClockFacts) -> Reading:
    """The reading with what its photographs say about the recorder's clock."""
    seen = [
        (photo, found)
        for photo in reading.photos
        if (found := shown_clock(photo, menu_map)) is not None
    ]
    shots = [shot for photo, found in seen if (shot := clock_shot(photo, found)) is not None]
    against = _against(menu_map, reading, facts)
    clock = clock_offset(shots, against, facts.phone_error_s)
    if clock is None:
        return replace(reading, clock=None, clock_note=_why_not(menu_map, reading, bool(seen)))
    if any(found.row for _, found in seen):
        clock = _from_entry_row(clock, seen)
    if not clock.zone_sure:
        note = (
            "the photographs do not say which time zone the phone was in, so whole hours may be "
            "off: name it with --phone-zone"
        )
        clock = replace(clock, notes=(*clock.notes, note))
    return replace(reading, clock=clock, clock_note="")


def clock_moments(state: VisitState) -> tuple[tuple[str, Reading], ...]:
    """A visit's readings to take the clock from: ("as found", ...) and ("as left", ...). An
    inspection photographs the settings once: they are as found only."""
    moments = []
    if state.as_found is not None:
        moments.append(("as found", state.as_found))
    if state.rounds:
        last = state.rounds[-1].reading
        if state.as_found is None or last.photos != state.as_found.photos:
            moments.append(("as left", last))
    return tuple(moments)


def _in_zone(taken: datetime, zone: tzinfo) -> datetime:
    """``taken`` with its offset; as it was in the hour that comes twice, or not at all, in the
    nights when clocks are changed: which it was cannot be told."""
    first, second = (taken.replace(tzinfo=zone, fold=fold).utcoffset() for fold in (0, 1))
    if first is None or first != second:
        return taken
    return taken.replace(tzinfo=timezone(first))


def _against(menu_map: MenuMap, reading: Reading, facts: ClockFacts) -> Against:
    """What the person named, else what the recorder is set to, else the phone's own zone."""
    settings = [
        (field.value, zone_seconds(field.value))
        for field in reading.fields
        if field.state is State.SURE
        and field.value is not None
        and menu_map.field(field.id).means == "time-zone"
    ]
    words, seconds = settings[0] if len(settings) == 1 else ("", None)
    if facts.zone:
        return Against(named_zone(facts.zone), facts.zone, seconds)
    if seconds is None:
        return Against(None, "", None)
    name = f"{words}, as the recorder is set"
    return Against(timezone(timedelta(seconds=seconds)), name, seconds)


def _from_entry_row(clock: ClockOffset, seen: list[tuple[PhotoReading, ShownClock]]) -> ClockOffset:
    labels = ", ".join(dict.fromkeys(repr(found.row) for _, found in seen if found.row))
    note = f"read from {labels}, which stands still on some recorders while its page is open"
    return replace(clock, notes=(*clock.notes, note))


def _why_not(menu_map: MenuMap, reading: Reading, shown: bool) -> str:
    """Why there is no offset, in one line; "" when the map has no clock."""
    if shown:
        return "the photographs of the clock have no capture time (EXIF): copy them as they are"
    wanted = {
        field.id
        for field in menu_map.fields_in(reading.firmware)
        if field.means in ("clock", "clock-time")
    }
    if not wanted:
        return ""
    pages = {menu_map.page_of(name).title for name in wanted}
    return f"no photograph shows the clock for sure: {', '.join(sorted(pages))}"
