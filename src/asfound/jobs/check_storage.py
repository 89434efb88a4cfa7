"""Settings against the days that were promised and are lawful."""

from __future__ import annotations

from collections.abc import Iterator

from asfound.calc.days_kept import Load, Room, around
from asfound.errors import MapError, UsageError
from asfound.jobs.ask_storage import FILE_SYSTEM, SPREAD
from asfound.jobs.asked import share
from asfound.jobs.expect import expect_from_target
from asfound.jobs.settings_say import Said, Settings, amount, figure, is_on
from asfound.jobs.size_storage import DaysFault, Events, SizeStorage, size_storage
from asfound.model.finding import ExpectedChannel
from asfound.model.fleet import Camera
from asfound.model.menu_map import MenuMap
from asfound.model.sums import Facts, SettingFault, SettingFinding
from asfound.model.target import Origin, Target, TargetValue

AUDIO_BPS = 64_000.0
"""Sound of a channel that records it, where no setting says (common practice, no source)."""
FEWEST_BITS = {"h264": 0.02, "h265": 0.01}
"""Bits for each pixel of a picture [1] below which it cannot be good: a rule of thumb takes 0.07
for the least motion (a blogged estimate, read); a quarter of that here, and half again for H.265
(own choice)."""
SUMS = "asfound days"
FAULTS = {
    DaysFault.TOO_FEW: SettingFault.TOO_FEW_DAYS,
    DaysFault.MAY_BE_TOO_FEW: SettingFault.MAY_BE_TOO_FEW_DAYS,
    DaysFault.TOO_MANY: SettingFault.MORE_DAYS_THAN_LAWFUL,
    DaysFault.CONTRADICTION: SettingFault.PROMISED_MORE_THAN_LAWFUL,
    DaysFault.RESERVE_TOO_SMALL: SettingFault.EVENT_RESERVE_TOO_SMALL,
    DaysFault.EVENTS_TOO_LONG: SettingFault.EVENTS_KEPT_TOO_LONG,
}


def channels_of(
    menu_map: MenuMap, firmware: str, settings: Settings, facts: Facts
) -> tuple[ExpectedChannel, ...] | str:
    """Channels that record, with size, rates and sound; else why that cannot be told."""
    values = {said.field.id: said.value for said in settings.every()}
    target = Target(
        menu_map.id,
        firmware,
        tuple(TargetValue(name, value, Origin.AS_FOUND) for name, value in values.items()),
    )
    fitted = facts.cameras
    if fitted is None:
        fitted = tuple(sorted({said.field.camera for said in settings.all("record")} - {None}))  # type: ignore[arg-type]  # None was taken out
    try:
        return expect_from_target(menu_map, target, [Camera(n, "") for n in fitted]).channels
    except MapError as error:
        return str(error)


def check_channels(
    channels: tuple[ExpectedChannel, ...], settings: Settings, facts: Facts
) -> Iterator[SettingFinding]:
    """Cameras that are not recorded, and pictures with too few bits."""
    recorded = {one.channel for one in channels}
    for said in settings.all("record"):
        camera = said.field.camera
        if camera in (facts.cameras or ()) and camera not in recorded:
            note = f"channel {camera} has a camera and is not recorded"
            yield _finding(SettingFault.CAMERA_OFF, (said,), 0, 1, "1", "fleet file", note)
    for one in channels:
        if not (one.width and one.height and one.rate_fps and one.bitrate_bps):
            continue
        bits = one.bitrate_bps / (one.width * one.height * one.rate_fps)
        coding = "h265" if "265" in (one.codec or "") else "h264"
        if bits < FEWEST_BITS[coding]:
            note = (
                f"channel {one.channel} spends {bits:.3f} bits on a pixel; below "
                f"{FEWEST_BITS[coding]:g} pictures smear"
            )
            fields = [s for s in settings.all("bit-rate") if s.field.camera == one.channel]
            source = "rule of thumb (blogged), own margin"
            yield _finding(
                SettingFault.THIN_PICTURE, fields, bits, FEWEST_BITS[coding], "bit", source, note
            )


def check_days(
    channels: tuple[ExpectedChannel, ...], settings: Settings, facts: Facts
) -> tuple[list[SettingFinding], str]:
    """Days kept against promise and law, and why that was left out ("" = it was not)."""
    mode = settings.one("recording-mode")
    request = storage_request(channels, settings, facts)
    if isinstance(request, str):
        return [], request
    try:
        result = size_storage(request)
    except UsageError as error:
        return [], f"days kept: {error}"
    deleted = figure(settings.one("delete-after"))
    fields = (*settings.all("bit-rate"), *([mode] if mode else ()), *settings.all("run-on"))
    found = []
    for one in result.findings:
        if one.kind == DaysFault.TOO_MANY and deleted is not None and deleted <= one.limit:
            continue
        if one.kind == DaysFault.EVENTS_TOO_LONG and _events_deleted(settings, one.limit):
            continue
        found.append(
            _finding(
                FAULTS[one.kind], fields, one.measured, one.limit, "d", SUMS, one.note
            )
        )  # fmt: skip
    return found, ""


def storage_request(
    channels: tuple[ExpectedChannel, ...], settings: Settings, facts: Facts
) -> SizeStorage | str:
    """The sums' request for these channels; else why it cannot be made."""
    hours = hours_recorded(settings, facts)
    if facts.drive_bytes is None:
        return "days kept: the size of the drive is not known"
    if isinstance(hours, str):
        return f"days kept: {hours}"
    unknown = [one.channel for one in channels if not one.bitrate_bps]
    if unknown or not channels:
        listed = ", ".join(str(number) for number in unknown) or "any"
        return f"days kept: the bit rate of channel {listed} is not known"
    return _request(channels, settings, facts, hours)


def check_keeping(settings: Settings, facts: Facts) -> Iterator[SettingFinding]:
    """What is deleted too soon or kept too long, and a recorder that stops when it is full."""
    deleted, full = settings.one("delete-after"), settings.one("overwrite")
    days = figure(deleted)
    if deleted and days is not None and facts.promised_days and days < facts.promised_days:
        note = f"footage is deleted after {days:g} days, {facts.promised_days:g} were promised"
        least = facts.promised_days
        yield _finding(SettingFault.DELETED_TOO_SOON, (deleted,), days, least, "d", "promise", note)
    events = settings.one("delete-events-after")
    kept = figure(events)
    if events and kept is not None and facts.lawful_days and kept > facts.lawful_days:
        note = f"events are kept for {kept:g} days, {facts.lawful_days:g} are lawful"
        yield _finding(
            SettingFault.EVENTS_KEPT_TOO_LONG, (events,), kept, facts.lawful_days, "d", "law", note
        )
    if full is not None and (amount(full) == "stop" or not is_on(full)):
        note = "recording stops when the drive is full; nothing newer is kept"
        yield _finding(SettingFault.STOPS_WHEN_FULL, (full,), 0, 1, "1", "plain sense", note)
    mode = settings.one("recording-mode")
    if mode is not None and amount(mode) == "events" and facts.promised_days:
        note = f"only events are recorded; {facts.promised_days:g} days were promised"
        yield _finding(
            SettingFault.EVENTS_ONLY, (mode,), 0, facts.promised_days, "d", "promise", note
        )


def _events_deleted(settings: Settings, lawful: float) -> bool:
    kept = figure(settings.one("delete-events-after"))
    return kept is not None and kept <= lawful


def hours_recorded(settings: Settings, facts: Facts) -> float | str:
    """Hours a day [h] that are recorded, or why that is not known."""
    mode = settings.one("recording-mode")
    kind = amount(mode) if mode else "ignition"
    if kind == "always":
        return 24.0
    if kind == "events":
        return "only events are recorded"
    if facts.hours_a_day is None:
        return "the hours a day with the ignition on are not known"
    run_on = (figure(settings.one("run-on")) or 0.0) if kind == "ignition" else 0.0
    return min(24.0, facts.hours_a_day + run_on / 3600)


def _request(
    channels: tuple[ExpectedChannel, ...], settings: Settings, facts: Facts, hours: float
) -> SizeStorage:
    spread = share(SPREAD, "spread")
    loads = tuple(
        Load(
            around(one.bitrate_bps or 0.0, spread), hours, 1, AUDIO_BPS if one.audio else 0.0
        )
        for one in channels
    )  # fmt: skip
    drive = facts.drive_bytes or 0.0
    kept = settings.one("event-reserve")
    reserve = figure(kept) or 0.0
    if kept is not None and getattr(kept.field.type, "unit", "") == "%":
        reserve *= drive
    before, after = figure(settings.one("event-before")), figure(settings.one("event-after"))
    length = (before or 0.0) + (after or 0.0)
    events = None
    if facts.events_a_day is not None and length and reserve:
        events = Events(facts.events_a_day, length)
    room = Room(drive, share(FILE_SYSTEM, "file_system"), reserve)
    return SizeStorage(
        loads, room, facts.promised_days, facts.lawful_days, facts.days_a_week, events
    )


def _finding(
    kind: SettingFault,
    said: tuple[Said, ...] | list[Said],
    measured: float,
    limit: float,
    unit: str,
    source: str,
    note: str,
) -> SettingFinding:
    fields = tuple(one.field.id for one in said)
    return SettingFinding(kind, fields, measured, limit, unit, source, note)
