"""Counts in raw values. The code of 188 is a maker's habit (from memory), the arithmetic is not."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.smart_reports import hdd, nvme, row, ssd, statistics, text

from asfound.calc.smart_counts import count_of, time_outs, written_bytes
from asfound.calc.smart_json import read_smart
from asfound.model.smart import SmartAttribute


def attribute(number: int, raw: int, said: str = "") -> SmartAttribute:
    return SmartAttribute(number, "", 100, 100, 0, "", False, raw, said)


def test_three_counts_in_one() -> None:
    # 0x000100020003 holds 3, 2 and 1 from its low word up (computed by hand).
    assert time_outs(0x0001_0002_0003) == (3, 2, 1)
    assert count_of(attribute(188, 0x0001_0002_0003)) == 3
    assert count_of(attribute(188, 7)) == 7
    assert count_of(attribute(188, 0)) == 0


def test_other_attributes_are_counts_or_in_a_code() -> None:
    assert count_of(attribute(5, 65_600)) == 65_600
    assert count_of(attribute(5, 0x0002_0000_0008, "8 (0 2)")) == 8
    assert count_of(attribute(5, 0x0002_0000_0008, "8589934600")) is None


@given(st.integers(0, 2**48 - 1))
def test_something_packed_is_never_nothing(raw: int) -> None:
    assert bool(time_outs(raw)[0]) == bool(raw)


@pytest.mark.parametrize(
    ("report", "written"),
    [
        # NVMe Base Specification: a unit is 1000 x 512 bytes; 2e6 of them are 1.024 TB.
        (nvme(), 1_024_000_000_000),
        (hdd(**statistics((1, 0x18, 2_000_000_000))), 1_024_000_000_000),
        (ssd({241: 2_000_000_000}), 1_024_000_000_000),
        (ssd({241: 2_000_000_000}, logical_block_size=4096), 8_192_000_000_000),
        (hdd(), None),
    ],
)
def test_bytes_that_were_written(report: dict[str, object], written: int | None) -> None:
    assert written_bytes(read_smart(text(report))) == written


@pytest.mark.parametrize(
    ("name", "unit"), [("Host_Writes_32MiB", 2**25), ("Lifetime_Writes_GiB", 2**30), ("Odd", None)]
)
def test_units_by_the_attributes_name(name: str, unit: int | None) -> None:
    table = {"table": [row(241, 1000, name=name)]}
    written = written_bytes(read_smart(text(ssd(ata_smart_attributes=table))))
    assert written == (None if unit is None else 1000 * unit)
