"""The JSON of `smartctl --json` (smartmontools), read into a SmartReport.

Names and nesting as the tool's own JSON has them (json_format_version 1; from memory, compared with
programs that read it). Places in ATA statistics: ACS-3, from memory, compared with tables of them.
What is not there is None; what is there and is of another kind than documented is an error, never
taken for zero.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from asfound.calc.plain_text import plain
from asfound.errors import InputError
from asfound.model.smart import (
    DeviceStatistics,
    NvmeHealth,
    SelfTest,
    SmartAttribute,
    SmartReport,
)

MOST_BYTES = 4_000_000
"""A report of a drive has some 30 kB."""
LONGEST = 80
LARGEST = 2**128
"""NVMe counts with 128 bits."""
LARGEST_RAW = 2**64
HOTTEST = 300
HEAT_PAGE = 5
NVME_FAULTS = (5, 6, 7)
"""Results of NVMe self-tests that name a fault of the drive (NVMe Base Specification, from
memory)."""
HOW = "write it with `smartctl --json -x DEVICE`"


def read_smart(data: bytes) -> SmartReport:
    """The report in a file. Raises InputError that says in one line what is wrong."""
    if len(data) > MOST_BYTES:
        raise InputError(f"larger than any report of a drive; {HOW}")
    try:
        top = json.loads(data.decode("utf-8-sig"), parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise InputError(f"not readable as JSON, or cut off; {HOW}") from None
    if not isinstance(top, dict) or not isinstance(top.get("smartctl"), dict):
        raise InputError(f"JSON, but not a drive's report; {HOW}")
    return _report(_Part(top, ""))


def _no_number(text: str) -> None:
    raise ValueError(text)


class _Part:
    """An object in the JSON and the way to it; every look is checked."""

    def __init__(self, data: Mapping[str, Any], way: str) -> None:
        self._data = data
        self._way = way

    def __contains__(self, name: str) -> bool:
        return self._data.get(name) is not None

    def _at(self, name: str) -> str:
        return f"{self._way}{name}"

    def part(self, name: str) -> _Part:
        """An object; an empty one when it is missing."""
        found = self._data.get(name)
        if found is None:
            found = {}
        if not isinstance(found, dict):
            raise InputError(f"{self._at(name)} is no object; {HOW}")
        return _Part(found, f"{self._at(name)}.")

    def rows(self, name: str) -> list[_Part]:
        """A list of objects; none when it is missing."""
        found = self._data.get(name)
        if found is None:
            return []
        if not isinstance(found, list) or not all(isinstance(row, dict) for row in found):
            raise InputError(f"{self._at(name)} is no list of objects; {HOW}")
        return [_Part(row, f"{self._at(name)}[{n}].") for n, row in enumerate(found)]

    def whole(self, name: str, most: int = LARGEST, least: int = 0) -> int | None:
        """A whole figure; None when it is missing."""
        found = self._data.get(name)
        if found is None:
            return None
        if not isinstance(found, int) or isinstance(found, bool) or not least <= found < most:
            raise InputError(f"{self._at(name)} is no whole figure that a drive can have; {HOW}")
        return found

    def needed(self, name: str, most: int) -> int:
        """A whole figure that has to be there."""
        found = self.whole(name, most)
        if found is None:
            raise InputError(f"{self._at(name)} is missing; {HOW}")
        return found

    def flag(self, name: str) -> bool | None:
        """Yes or no; None when it is missing."""
        found = self._data.get(name)
        if found is not None and not isinstance(found, bool):
            raise InputError(f"{self._at(name)} is neither true nor false; {HOW}")
        return found

    def text(self, name: str) -> str:
        """A short text; "" when it is missing."""
        found = self._data.get(name)
        if found is None:
            return ""
        if not isinstance(found, str):
            raise InputError(f"{self._at(name)} is no text; {HOW}")
        return plain(found).strip()[:LONGEST]


def _report(top: _Part) -> SmartReport:
    heat, nvme = top.part("temperature"), top.part("nvme_smart_health_information_log")
    tool, device = top.part("smartctl"), top.part("device")
    known, failed = _tests(top)
    return SmartReport(
        protocol=device.text("protocol"),
        model=top.text("model_name") or top.text("scsi_model_name"),
        serial=top.text("serial_number"),
        firmware=top.text("firmware_version"),
        taken=_taken(top.part("local_time")),
        capacity=top.part("user_capacity").whole("bytes", LARGEST_RAW)
        or top.whole("nvme_total_capacity", LARGEST_RAW),
        block_bytes=top.whole("logical_block_size", 1 << 20, 1) or 512,
        rpm=top.whole("rotation_rate", 1_000_000),
        passed=top.part("smart_status").flag("passed"),
        attributes=_attributes(top.part("ata_smart_attributes")),
        nvme=_nvme(nvme) if "nvme_smart_health_information_log" in top else None,
        statistics=_statistics(top),
        tests_known=known,
        failed_tests=failed,
        errors_logged=_errors(top.part("ata_smart_error_log")),
        celsius=heat.whole("current", HOTTEST, -HOTTEST),
        limit_celsius=heat.whole("op_limit_max", HOTTEST, -HOTTEST)
        or heat.whole("drive_trip", HOTTEST, -HOTTEST),
        highest_celsius=heat.whole("lifetime_max", HOTTEST, -HOTTEST),
        power_on_hours=top.part("power_on_time").whole("hours", LARGEST_RAW)
        if "power_on_time" in top
        else nvme.whole("power_on_hours"),
        power_cycles=top.whole("power_cycle_count", LARGEST_RAW),
        grown_defects=top.whole("scsi_grown_defect_list", LARGEST_RAW),
        uncorrected=_uncorrected(top.part("scsi_error_counter_log")),
        messages=tuple(
            row.text("string") for row in tool.rows("messages") if row.text("severity") == "error"
        ),
    )


def _taken(part: _Part) -> datetime | None:
    seconds = part.whole("time_t", LARGEST_RAW)
    if not seconds:
        return None
    try:
        return datetime.fromtimestamp(seconds, UTC)
    except (OverflowError, OSError, ValueError):
        raise InputError(f"local_time.time_t is no time; {HOW}") from None


def _attributes(part: _Part) -> tuple[SmartAttribute, ...]:
    return tuple(
        SmartAttribute(
            row.needed("id", 256),
            row.text("name"),
            row.whole("value", 256),
            row.whole("worst", 256),
            row.whole("thresh", 256),
            row.text("when_failed"),
            bool(row.part("flags").flag("prefailure")),
            row.part("raw").needed("value", LARGEST_RAW),
            row.part("raw").text("string"),
        )
        for row in part.rows("table")
    )


def _nvme(part: _Part) -> NvmeHealth:
    return NvmeHealth(
        part.whole("critical_warning", 256),
        part.whole("available_spare", 256),
        part.whole("available_spare_threshold", 256),
        part.whole("percentage_used", 256),
        part.whole("media_errors"),
        part.whole("data_units_written"),
        part.whole("unsafe_shutdowns"),
    )


def _statistics(top: _Part) -> DeviceStatistics:
    found: dict[tuple[int, int], int] = {}
    worn = top.part("endurance_used").whole("current_percent", 1000)
    for page in top.part("ata_device_statistics").rows("pages"):
        number = page.needed("number", 256)
        for row in page.rows("table"):
            at = row.whole("offset", 512)
            value = row.whole("value", LARGEST_RAW, -HOTTEST if number == HEAT_PAGE else 0)
            if at is not None and value is not None and row.part("flags").flag("valid"):
                found[number, at] = value
    return DeviceStatistics(
        found.get((1, 0x018)),
        found.get((2, 0x010)),
        found.get((3, 0x020)),
        found.get((3, 0x038)),
        found.get((4, 0x008)),
        found.get((5, 0x020)),
        found.get((5, 0x058)),
        found.get((7, 0x008), worn),
    )


def _tests(top: _Part) -> tuple[bool, tuple[SelfTest, ...]]:
    ata, nvme = top.part("ata_smart_self_test_log"), top.part("nvme_self_test_log")
    rows = ata.part("extended").rows("table") or ata.part("standard").rows("table")
    failed = [
        SelfTest(row.part("status").text("string"), row.whole("lifetime_hours", LARGEST_RAW))
        for row in rows
        if row.part("status").flag("passed") is False
    ]
    for row in nvme.rows("table"):
        result = row.part("self_test_result")
        if result.whole("value", 256) in NVME_FAULTS:
            failed.append(SelfTest(result.text("string"), row.whole("power_on_hours")))
    known = "ata_smart_self_test_log" in top or "nvme_self_test_log" in top
    return known, tuple(failed)


def _errors(part: _Part) -> int | None:
    counts = [part.part(name).whole("count", LARGEST_RAW) for name in ("extended", "summary")]
    said = [count for count in counts if count is not None]
    return max(said) if said else None


def _uncorrected(part: _Part) -> int | None:
    counts = [
        part.part(name).whole("total_uncorrected_errors", LARGEST_RAW)
        for name in ("read", "write", "verify")
    ]
    said = [count for count in counts if count is not None]
    return sum(said) if said else None
