"""What the sums say of settings: facts from outside, findings, and what was left out."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class SettingFault(StrEnum):
    """What does not hold."""

    TOO_FEW_DAYS = "too-few-days"
    MAY_BE_TOO_FEW_DAYS = "may-be-too-few-days"
    MORE_DAYS_THAN_LAWFUL = "more-days-than-lawful"
    PROMISED_MORE_THAN_LAWFUL = "promised-more-than-lawful"
    EVENT_RESERVE_TOO_SMALL = "event-reserve-too-small"
    EVENTS_KEPT_TOO_LONG = "events-kept-longer-than-lawful"
    DELETED_TOO_SOON = "deleted-before-promised"
    STOPS_WHEN_FULL = "stops-when-full"
    EVENTS_ONLY = "records-events-only"
    CAMERA_OFF = "camera-not-recorded"
    THIN_PICTURE = "too-few-bits-for-the-picture"
    TRIGGER_LOW = "trigger-in-ordinary-driving"
    TRIGGER_HIGH = "trigger-hardly-reached"
    TRIGGER_SHORT = "trigger-shorter-than-a-bump"
    SPEED_HIGH = "speed-above-limiter"
    PULSES = "wheel-pulses-off"
    CUT_OFF_LOW = "cut-off-too-low"
    CUT_OFF_HIGH = "cut-off-too-high"
    CUT_IN = "cut-in-not-above-cut-off"
    RUN_ON = "run-on-drains-the-battery"
    SUPPLY = "wrong-supply-voltage"
    ZONE = "clock-wrong-part-of-the-year"


@dataclass(frozen=True, slots=True)
class SettingFinding:
    """``measured`` against ``limit`` in ``unit`` by the settings ``fields``; ``source`` of the
    limit, and what a person would say."""

    kind: SettingFault
    fields: tuple[str, ...]
    measured: float
    limit: float
    unit: str
    source: str
    note: str


@dataclass(frozen=True, slots=True)
class SettingsChecked:
    """``held``: what was checked, in words; ``left_out``: what could not be, and why."""

    findings: tuple[SettingFinding, ...]
    held: tuple[str, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """What settings are held against; None: not known, and what rests on it is left out.

    ``cameras``: channels with a camera; ``drive_bytes`` as its label says; ``hours_a_day`` [h]
    with the ignition on, on ``days_a_week``; ``promised_days``, ``lawful_days``; ``events_a_day``;
    ``vehicle_kind``: "lorry" or "bus"; ``supply_volts``: 12 or 24; ``time_zone``: IANA name, over
    the calendar ``year``; ``pulses_per_km``: measured, from least to most. ``battery_ah``: of the
    whole bank, as its label says; ``draws_a`` [A] of a recorder that runs on; ``parked_h`` [h]
    until the next start.
    """

    cameras: tuple[int, ...] | None = None
    drive_bytes: float | None = None
    hours_a_day: float | None = None
    days_a_week: float = 7.0
    promised_days: float | None = None
    lawful_days: float | None = None
    events_a_day: float | None = None
    vehicle_kind: str | None = None
    supply_volts: int | None = None
    time_zone: str | None = None
    year: int | None = None
    pulses_per_km: tuple[float, float] | None = None
    battery_ah: float | None = None
    draws_a: float | None = None
    parked_h: float | None = None
