"""Days kept: how long a drive that overwrites its oldest recordings holds them.

    bytes a day = sum over channels of (picture rate + sound rate) [bit/s] / 8 * 3600 * hours a day
    room        = drive [bytes] * (1 - file system's share) - reserve [bytes]
    days kept   = room / bytes a day

Prefixes of drives and rates are decimal (1 TB = 1e12 bytes, 1 Mbit = 1e6 bit: IEC 80000-13); what
computers show in binary is only shown (units.TIB). Every figure is a band: rates change with
day, night, rain and movement. Bands add up as if all channels were low or high at once, which
they may be: one weather for all of them. Days are those on which the vehicle records for its hours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from asfound.units import HOUR_S


@dataclass(frozen=True, slots=True)
class Band:
    """A figure from ``low`` to ``high``, most likely ``likely``; all finite, in this order."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.likely <= self.high < float("inf"):
            raise ValueError(f"not a band: {self.low} to {self.likely} to {self.high}")

    def times(self, factor: float) -> Band:
        """Every figure ``factor`` times as much."""
        return Band(self.low * factor, self.likely * factor, self.high * factor)


@dataclass(frozen=True, slots=True)
class Load:
    """``channels`` that record for ``hours_a_day`` [h], each at ``rate`` [bit/s], sound apart:
    ``audio_bps`` [bit/s] each."""

    rate: Band
    hours_a_day: float
    channels: int = 1
    audio_bps: float = 0.0


@dataclass(frozen=True, slots=True)
class Room:
    """A drive of ``drive_bytes`` as its label says; ``file_system``: share [1] that it loses to
    tables; ``reserve_bytes``: kept for events and never overwritten."""

    drive_bytes: float
    file_system: float = 0.0
    reserve_bytes: float = 0.0

    @property
    def usable_bytes(self) -> float:
        """What is overwritten in turn; 0 when the reserve takes it all."""
        return max(0.0, self.drive_bytes * (1 - self.file_system) - self.reserve_bytes)


def around(likely: float, spread: float) -> Band:
    """``likely`` with ``spread`` [1] either way, for want of measurements."""
    return Band(likely * max(0.0, 1 - spread), likely, likely * (1 + spread))


def bytes_a_day(loads: Sequence[Load]) -> Band:
    """What is written on a day [bytes]."""
    seconds = [load.hours_a_day * HOUR_S * load.channels / 8 for load in loads]
    each = list(zip(seconds, loads, strict=True))
    return Band(
        sum(time * (load.rate.low + load.audio_bps) for time, load in each),
        sum(time * (load.rate.likely + load.audio_bps) for time, load in each),
        sum(time * (load.rate.high + load.audio_bps) for time, load in each),
    )


def days_kept(loads: Sequence[Load], room: Room) -> Band:
    """Days that the drive holds. Raises ValueError when next to nothing is written."""
    a_day = bytes_a_day(loads)
    if a_day.low <= 0:
        raise ValueError("nothing is written: no channels, no hours or no rate")
    usable = room.usable_bytes
    return Band(usable / a_day.high, usable / a_day.likely, usable / a_day.low)


def drive_for(loads: Sequence[Load], days: float, room: Room) -> Band:
    """The drive [bytes, as its label says] that keeps ``days``, of the same file system and
    reserve as ``room``."""
    return Band(
        *(
            (figure * days + room.reserve_bytes) / (1 - room.file_system)
            for figure in (
                bytes_a_day(loads).low,
                bytes_a_day(loads).likely,
                bytes_a_day(loads).high,
            )
        )
    )


def rate_share_for(loads: Sequence[Load], days: float, room: Room) -> Band:
    """The share of their rates [1] at which the channels would be kept for ``days``, sound
    as it is; 0 where sound alone is too much."""
    sound = sum(load.hours_a_day * HOUR_S * load.channels / 8 * load.audio_bps for load in loads)
    a_day = bytes_a_day(loads)
    left = max(0.0, room.usable_bytes / days - sound)
    pictures = [figure - sound for figure in (a_day.high, a_day.likely, a_day.low)]
    if min(pictures) <= 0:
        raise ValueError("nothing is written: no channels, no hours or no rate")
    return Band(*(left / figure for figure in pictures))
