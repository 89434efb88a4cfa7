"""Reports of drives: read where they are as documented, refused in one line where not."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.smart_reports import TAKEN, hdd, head, nvme, self_tests, statistics, text

from asfound.calc.smart_json import MOST_BYTES, read_smart
from asfound.errors import InputError
from asfound.model.smart import SelfTest


def test_a_hard_disk() -> None:
    seen = read_smart(text(hdd({5: 8, 197: 2}, **TAKEN, **self_tests(True, False))))
    assert (seen.protocol, seen.model, seen.serial) == ("ATA", "TARN-4000V", "TRN0042")
    assert (seen.rpm, seen.turns, seen.passed, seen.celsius) == (7200, True, True, 38)
    assert seen.taken == datetime(2026, 11, 26, 8, tzinfo=UTC)
    reallocated = seen.attribute(5)
    assert reallocated is not None and (reallocated.raw, reallocated.prefailure) == (8, True)
    assert seen.failed_tests == (SelfTest("Completed: read failure", 6999),)
    assert seen.attribute(7) is None and seen.nvme is None and seen.errors_logged is None


def test_an_nvme_drive() -> None:
    seen = read_smart(text(nvme({"percentage_used": 104, "media_errors": 2**100})))
    assert seen.nvme is not None and seen.turns is False
    assert (seen.nvme.used_percent, seen.nvme.media_errors) == (104, 2**100)
    assert seen.power_on_hours == 8000


def test_statistics_by_page_and_place() -> None:
    # ACS-3 (from memory): page 1 at 18h sectors written, page 3 at 20h reallocated sectors, page 5
    # at 20h and 58h the highest and the specified temperature, page 7 at 8 endurance used.
    places = ((1, 0x18, 10**10), (2, 0x10, 3), (3, 0x20, 4), (3, 0x38, 5), (4, 8, 6))
    heat = ((5, 0x20, 71), (5, 0x58, 65), (7, 8, 40))
    seen = read_smart(text(hdd(**statistics(*places, *heat)))).statistics
    assert (seen.sectors_written, seen.over_limit_shocks, seen.reallocated) == (10**10, 3, 4)
    assert (seen.candidates, seen.uncorrectable) == (5, 6)
    assert (seen.highest_celsius, seen.limit_celsius, seen.used_percent) == (71, 65, 40)
    cold = read_smart(text(hdd(**statistics((5, 0x20, -12)))))
    assert cold.statistics.highest_celsius == -12


def test_a_drive_behind_an_adapter_that_hides_it() -> None:
    bare = head("SCSI") | {"smart_status": None}
    bare["smartctl"]["messages"] = [
        {"string": "Unknown USB bridge", "severity": "error"},
        {"string": "by the way", "severity": "information"},
    ]
    seen = read_smart(text(bare))
    assert (seen.passed, seen.attributes, seen.turns) == (None, (), None)
    assert seen.messages == ("Unknown USB bridge",)


DEEP = b'{"smartctl":' + b"[" * 200_000


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "not readable as JSON"),
        (b"SMART overall-health self-assessment test result: PASSED", "not readable as JSON"),
        (text(hdd())[:-40], "cut off"),
        (b"\xff\xfe{}", "not readable as JSON"),
        (DEEP, "not readable as JSON"),
        (b'{"smartctl": {}, "power_cycle_count": NaN}', "not readable as JSON"),
        (b'{"smartctl": {}, "power_cycle_count": ' + b"9" * 5000 + b"}", "not readable as JSON"),
        (b"[1, 2]", "not a drive's report"),
        (b'{"blockdevices": [{"name": "sda"}]}', "not a drive's report"),
        (b'{"format": "asfound-proof/1"}', "not a drive's report"),
        (b" " * (MOST_BYTES + 1), "larger than any report"),
        (text(hdd(ata_smart_attributes=7)), "ata_smart_attributes is no object"),
        (text(hdd(ata_smart_attributes={"table": {}})), "table is no list of objects"),
        (text(hdd(ata_smart_attributes={"table": [{"id": 5}]})), "raw.value is missing"),
        (text(hdd({5: -1})), r"table\[0\].raw.value is no whole figure"),
        (text(hdd({5: 2**64})), "raw.value is no whole figure"),
        (text(hdd(smart_status={"passed": "yes"})), "smart_status.passed is neither"),
        (text(hdd(temperature={"current": 38.5})), "temperature.current is no whole figure"),
        (text(hdd(temperature={"current": True})), "temperature.current is no whole figure"),
        (text(hdd(model_name=["a"])), "model_name is no text"),
        (text(hdd(local_time={"time_t": 2**62})), "local_time.time_t is no time"),
        (text(hdd(power_cycle_count=1e400)), "not readable as JSON"),
        (text(hdd(**statistics((3, 0x20, -5)))), "value is no whole figure"),
        (text(nvme({"percentage_used": 2**200})), "percentage_used is no whole figure"),
    ],
)  # fmt: skip
def test_what_is_no_report(data: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        read_smart(data)
    assert "\n" not in str(caught.value) and "smartctl --json" in str(caught.value)


ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=8,
)
PATHS = [
    ("temperature",), ("temperature", "current"), ("ata_smart_attributes", "table"),
    ("ata_smart_attributes", "table", 0), ("ata_smart_attributes", "table", 0, "raw"),
    ("ata_smart_attributes", "table", 0, "raw", "value"), ("local_time",), ("local_time", "time_t"),
    ("smartctl", "messages"), ("user_capacity", "bytes"), ("rotation_rate",), ("smart_status",),
    ("ata_device_statistics",), ("ata_smart_self_test_log", "standard"), ("device",),
    ("nvme_smart_health_information_log",), ("nvme_self_test_log",), ("ata_smart_error_log",),
    ("scsi_error_counter_log",), ("endurance_used", "current_percent"),
]  # fmt: skip


@given(st.sampled_from(PATHS), ANY_JSON)
def test_anything_anywhere_is_read_or_refused_in_one_line(
    path: tuple[str | int, ...], value: object
) -> None:
    report: Any = hdd(**self_tests(True), **statistics((3, 0x20, 0)))
    at = report
    for name in path[:-1]:
        at = at.setdefault(name, {}) if isinstance(at, dict) else at[name]
    at[path[-1]] = value
    _read(json.dumps(report).encode())


@given(st.binary(max_size=60), st.integers(0, 2000))
def test_any_bytes_and_any_cut(data: bytes, end: int) -> None:
    _read(data)
    _read(text(nvme())[:end] + data)


def _read(data: bytes) -> None:
    try:
        read_smart(data)
    except InputError as error:
        assert "\n" not in str(error) and "smartctl --json" in str(error)
