"""Counts inside a drive's raw values: what is packed, and how much was written.

A raw value has 48 bits in the maker's own code. Small ones are plain counts. Attribute 188 (command
time-outs) of some makers packs three counts of 16 bits, the total lowest (from memory):
0x000100020003 is 3, 2 and 1, and not 4,295,098,371.
"""

from __future__ import annotations

import re

from asfound.model.smart import SmartAttribute, SmartReport
from asfound.units import GIB, MIB

WORD = 1 << 16
PLAIN = 1 << 32
"""From here on a raw value is no plain count: no drive has so many sectors to spare."""
FIRST = re.compile(r"(\d{1,10})\s*\(")
TIME_OUTS = 188
WRITTEN = (241, 246)
"""Attributes in which makers count what the host wrote (from memory)."""
UNIT = re.compile(r"_(?:(\d{1,3}))?(GiB|MiB)\b", re.IGNORECASE)
NVME_UNIT = 512_000
"""Bytes of a data unit (NVMe Base Specification, SMART log: thousands of 512 bytes)."""


def count_of(attribute: SmartAttribute) -> int | None:
    """How many an attribute counts; None: its raw value packs what nobody here knows."""
    raw = attribute.raw
    if attribute.number == TIME_OUTS:
        return time_outs(raw)[0]
    if raw < PLAIN:
        return raw
    # The reading tool knows some codes: "8 (0 2)" is a count of 8 and two others.
    found = FIRST.match(attribute.raw_text)
    return int(found[1]) if found else None


def time_outs(raw: int) -> tuple[int, int, int]:
    """Commands that timed out, and of them those that took much longer, of a raw value of 188."""
    if raw < WORD:
        return raw, 0, 0
    words = raw % WORD, raw // WORD % WORD, raw // WORD**2 % WORD
    return max(words), words[1], words[2]


def used_percent(report: SmartReport) -> int | None:
    """Rated endurance that is used, by the drive's own word [%]; None: it does not say."""
    if report.nvme is not None:
        return report.nvme.used_percent
    return report.statistics.used_percent


def written_bytes(report: SmartReport) -> int | None:
    """What the host has written so far [bytes]; None: the drive does not say it in a unit that is
    known."""
    if report.nvme is not None and report.nvme.units_written is not None:
        return report.nvme.units_written * NVME_UNIT
    if report.statistics.sectors_written is not None:
        return report.statistics.sectors_written * report.block_bytes
    for number in WRITTEN:
        row = report.attribute(number)
        if row is None:
            continue
        if "LBA" in row.name.upper():
            return row.raw * report.block_bytes
        unit = UNIT.search(row.name)
        if unit is not None:
            size = GIB if unit[2].casefold() == "gib" else MIB
            return row.raw * int(unit[1] or 1) * size
    return None
