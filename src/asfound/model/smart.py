"""What a drive reports of itself (SMART), as far as its health and wear are read from it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class SmartAttribute:
    """A row of an ATA drive's table. ``value``, ``worst``, ``threshold``: the maker's own scale,
    higher is better; ``failed``: "now" or "past" when it is or was at its threshold, else "";
    ``raw``: 48 bits in the maker's own code, ``raw_text`` as the reading tool understood them."""

    number: int
    name: str
    value: int | None
    worst: int | None
    threshold: int | None
    failed: str
    prefailure: bool
    raw: int
    raw_text: str


@dataclass(frozen=True, slots=True)
class NvmeHealth:
    """The health log of an NVMe drive (NVM Express Base Specification); percentages as the drive
    says them, ``units_written`` in thousands of 512 bytes. None: not said."""

    critical_warning: int | None
    spare_percent: int | None
    spare_limit_percent: int | None
    used_percent: int | None
    media_errors: int | None
    units_written: int | None
    unsafe_shutdowns: int | None


@dataclass(frozen=True, slots=True)
class DeviceStatistics:
    """An ATA drive's statistics log (ACS-3): sectors and events, degrees Celsius, per cent. None:
    not said."""

    sectors_written: int | None = None
    over_limit_shocks: int | None = None
    reallocated: int | None = None
    candidates: int | None = None
    uncorrectable: int | None = None
    highest_celsius: int | None = None
    limit_celsius: int | None = None
    used_percent: int | None = None


@dataclass(frozen=True, slots=True)
class SelfTest:
    """A self-test that ended with a fault of the drive; ``hours``: its power-on hours then."""

    text: str
    hours: int | None


@dataclass(frozen=True, slots=True)
class SmartReport:
    """One drive at one moment. None: not said. ``rpm`` 0: nothing turns. ``passed``: what the
    drive says of itself, over all. ``tests_known``: whether a log of self-tests was there;
    ``failed_tests`` newest first. ``messages``: what the reading tool complained of."""

    protocol: str
    model: str
    serial: str
    firmware: str
    taken: datetime | None
    capacity: int | None
    block_bytes: int
    rpm: int | None
    passed: bool | None
    attributes: tuple[SmartAttribute, ...]
    nvme: NvmeHealth | None
    statistics: DeviceStatistics
    tests_known: bool
    failed_tests: tuple[SelfTest, ...]
    errors_logged: int | None
    celsius: int | None
    limit_celsius: int | None
    highest_celsius: int | None
    power_on_hours: int | None
    power_cycles: int | None
    grown_defects: int | None
    uncorrected: int | None
    messages: tuple[str, ...]

    def attribute(self, number: int) -> SmartAttribute | None:
        """The row with this number."""
        return next((one for one in self.attributes if one.number == number), None)

    @property
    def turns(self) -> bool | None:
        """Whether it is a hard disk; None: not said."""
        if self.nvme is not None:
            return False
        return None if self.rpm is None else self.rpm > 0
