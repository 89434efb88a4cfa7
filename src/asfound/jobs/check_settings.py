"""Settings against the sums: days kept, triggers, supply, clock. All that applies is checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from asfound.jobs.check_storage import channels_of, check_channels, check_days, check_keeping
from asfound.jobs.check_supply import check_run_on, check_supply
from asfound.jobs.check_triggers import check_shocks, check_speed
from asfound.jobs.check_zone import check_zone
from asfound.jobs.settings_say import Settings
from asfound.model.fleet import Fleet, Vehicle
from asfound.model.menu_map import Meaning, MenuMap
from asfound.model.sums import Facts, SettingFinding, SettingsChecked

NEEDED: tuple[tuple[str, tuple[Meaning, ...]], ...] = (
    ("days kept", ("bit-rate",)),
    ("shock triggers", ("shock-braking", "shock-along", "shock-cornering")),
    ("speed trigger", ("speed-threshold",)),
    ("wheel pulses", ("wheel-pulses",)),
    ("cut-off voltage", ("cut-off", "cut-off-12", "cut-off-24")),
    ("run-on", ("run-on",)),
    ("the clock's zone", ("time-zone",)),
)
"""What can be checked, and settings one of which that takes."""


@dataclass(frozen=True, slots=True)
class CheckSettings:
    """Certain canonical ``values`` by field id; what is not certain is not in them."""

    menu_map: MenuMap
    firmware: str
    values: Mapping[str, str]
    facts: Facts


def check_settings(request: CheckSettings) -> SettingsChecked:
    """Every check for which settings and facts are there; the others are named with the reason."""
    settings = Settings(request.menu_map, request.firmware, request.values)
    facts = request.facts
    left_out = [*_missing(settings), *_unknown(settings, facts)]
    findings: list[SettingFinding] = []
    channels = channels_of(request.menu_map, request.firmware, settings, facts)
    if isinstance(channels, str):
        left_out.append(channels)
    else:
        findings.extend(check_channels(channels, settings, facts))
        if settings.all("bit-rate"):
            found, why = check_days(channels, settings, facts)
            findings.extend(found)
            left_out.extend([why] if why else ())
    findings.extend(check_keeping(settings, facts))
    findings.extend(check_shocks(settings))
    findings.extend(check_speed(settings, facts))
    findings.extend(check_supply(settings, facts))
    for found_or_why in (*check_run_on(settings, facts), *check_zone(settings, facts)):
        if isinstance(found_or_why, str):
            left_out.append(found_or_why)
        else:
            findings.append(found_or_why)
    told = {line.partition(":")[0] for line in left_out}
    held = tuple(name for name, _ in NEEDED if name not in told)
    return SettingsChecked(tuple(findings), held, tuple(left_out))


def _missing(settings: Settings) -> list[str]:
    """Checks without a setting: the menu has none, or it was not read for certain."""
    lines = []
    for name, meanings in NEEDED:
        if any(settings.all(means) for means in meanings):
            continue
        known = any(settings.has(means) for means in meanings)
        why = "no certain value is known" if known else "the menu map names no such setting"
        lines.append(f"{name}: {why}")
    return lines


def _unknown(settings: Settings, facts: Facts) -> list[str]:
    """Checks without a fact."""
    lines = []
    if facts.supply_volts is None and any(
        settings.all(means) for means in ("cut-off", "cut-off-12", "cut-off-24")
    ):
        lines.append("cut-off voltage: whether the vehicle has 12 or 24 V is not known")
    if settings.all("speed-threshold") and facts.vehicle_kind is None:
        lines.append("speed trigger: whether it is a lorry or a bus is not known")
    if settings.all("wheel-pulses") and facts.pulses_per_km is None:
        lines.append("wheel pulses: they were not measured")
    return lines


def facts_of(fleet: Fleet, vehicle: Vehicle, year: int) -> Facts:
    """What the fleet file says of a vehicle."""
    return Facts(
        cameras=tuple(camera.channel for camera in vehicle.cameras),
        drive_bytes=float(vehicle.drive.capacity_bytes) if vehicle.drive else None,
        hours_a_day=vehicle.hours_a_day if vehicle.hours_a_day is not None else fleet.hours_a_day,
        promised_days=fleet.minimum_days,
        lawful_days=fleet.maximum_days,
        vehicle_kind=vehicle.kind,
        supply_volts=vehicle.recorder.supply_volts,
        time_zone=fleet.time_zone,
        year=year,
    )
