"""Acceleration is read from CSV as loggers write it; what is in doubt is asked, never guessed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import AsfoundError, InputError, UsageError
from asfound.jobs import read_acceleration
from asfound.jobs.read_acceleration import (
    AccelerationForm,
    AccelerationLog,
    Faults,
    open_acceleration,
)
from asfound.model.drive_log import Acceleration

ROWS = [f"{1790000000 + n * 0.04:.2f},{n}.5,-2.0e-1,9.8" for n in range(10)]


def log_of(text: str | bytes, form: AccelerationForm | None = None) -> AccelerationLog:
    raw = text if isinstance(text, bytes) else text.encode()
    return open_acceleration("drive.csv", lambda: [raw[:50], raw[50:]], form or AccelerationForm())


def read(log: AccelerationLog) -> tuple[Acceleration, Faults]:
    faults = Faults()
    blocks = list(log.blocks(faults))
    return Acceleration(
        np.concatenate([block.times_s for block in blocks]),
        np.concatenate([block.xyz_ms2 for block in blocks]),
    ), faults


@pytest.mark.parametrize(
    ("text", "form", "unit"),
    [
        ("\n".join(ROWS), {}, ""),
        # A line of figures in which one reads like the number of a column.
        (
            "\n".join(row.replace("9.8", "9.8,1") for row in ROWS),
            {"columns": {"time": "1", "x": "2", "y": "3", "z": "4"}}, "",
        ),
        ("time,ax,ay,az\n" + "\n".join(ROWS), {}, ""),
        ("\ufeff# a logger\ntime_s,acc_x [g],acc_y [g],acc_z [g]\r\n" + "\r\n".join(ROWS), {}, "g"),
        ("no,t,x (m/s²),y (m/s²),z (m/s²)\n" + "\n".join("7," + row for row in ROWS), {}, "m/s2"),
        (
            "time;x;y;z\n" + "\n".join(ROWS).replace(",", ";").replace(".", ","),
            {"comma": True}, "",
        ),
        (
            "up\tTIME\tleft\tfront\n"
            + "\n".join("\t".join(np.array(row.split(","))[[3, 0, 2, 1]]) for row in ROWS),
            {"columns": {"x": "front", "y": "LEFT", "z": "1"}, "unit": "16384/g"}, "16384/g",
        ),
    ],
)  # fmt: skip
def test_forms(text: str, form: dict[str, object], unit: str) -> None:
    log = log_of(text, AccelerationForm(**form))  # type: ignore[arg-type]  # a form of any fields
    got, faults = read(log)
    assert got.times_s == pytest.approx(1790000000 + np.arange(10) * 0.04, abs=1e-6)
    assert got.xyz_ms2[:, 0] == pytest.approx(np.arange(10) + 0.5)
    assert (got.xyz_ms2[:, 1:] == [-0.2, 9.8]).all()
    assert faults.count == 0 and log.unit == unit


@pytest.mark.parametrize(
    ("times", "unit"),
    [
        ([f"{n * 0.02:.2f}" for n in range(20)], "s"),
        ([str(n * 10) for n in range(20)], "ms"),
        ([str(1790000000000 + n * 40) for n in range(20)], "ms"),
        ([str(123_000 + n * 5000) for n in range(20)], "us"),
        ([str(10**9 + n * 20_000_000) for n in range(20)], "ns"),
        # Whole seconds that samples share.
        ([str(n // 10) for n in range(40)], "s"),
        ([f"2026-11-26T08:00:0{n // 10}.{n % 10}+01:00" for n in range(20)], "iso"),
    ],
)
def test_units_of_time(times: list[str], unit: str) -> None:
    log = log_of("time,x,y,z\n" + "\n".join(f"{at},{n},0,1" for n, at in enumerate(times)))
    assert log.columns.time_unit == unit
    got, faults = read(log)
    assert len(got) == len(times) and faults.count == 0
    assert 5 <= 1 / np.median(np.diff(got.times_s)) <= 2000


def test_offsets_of_dates() -> None:
    rows = "\n".join(f"2026-11-26T08:00:00.{n}+01:00,0,{n},1" for n in range(5))
    # 2026-11-26T07:00:00Z: 20783 days after 1970-01-01 (date(1) -u), 7 h.
    assert read(log_of("time,x,y,z\n" + rows))[0].times_s[0] == 20783 * 86400 + 7 * 3600


def test_broken_lines_are_told_and_the_rest_is_kept() -> None:
    broken = [
        "",
        "1790000000.5",
        "x,1,2,3",
        "1790000000.6,nan,1,2",
        "1790000001,1_0,1,2",
        *ROWS[5:],
    ]
    got, faults = read(log_of("time,x,y,z\n" + "\n".join(ROWS[:5] + broken)))
    assert len(got) == 10 and faults.count == 4
    assert [fault.where for fault in faults.named] == [f"drive.csv:{n}" for n in (8, 9, 10, 11)]
    assert "'x' is no figure" in faults.named[1].what


def test_times_that_go_back_are_told() -> None:
    got, faults = read(log_of("time,x,y,z\n" + "\n".join([*ROWS, *ROWS[2:4], ROWS[9]])))
    assert len(got) == 10 and faults.count == 3
    assert {fault.where for fault in faults.named} == {"drive.csv"}


@given(st.integers(1, 30))
def test_blocks_change_nothing(size: int) -> None:
    rows = [*ROWS[:5], "broken", ROWS[3], *ROWS[5:]]
    text = "time,x,y,z\n" + "\n".join(rows)
    whole, said = read(log_of(text))
    before = read_acceleration.BLOCK_ROWS
    read_acceleration.BLOCK_ROWS = size
    try:
        parts, told = read(log_of(text))
    finally:
        read_acceleration.BLOCK_ROWS = before
    assert whole.times_s.tolist() == parts.times_s.tolist()
    assert whole.xyz_ms2.tolist() == parts.xyz_ms2.tolist()
    assert said == told


@pytest.mark.parametrize(
    ("text", "wrong", "said"),
    [
        ("", InputError, "is empty"),
        ("\n\n# nothing\n", InputError, "is empty"),
        ("time,x,y,z\n", InputError, "but no samples"),
        ("a,b,c\n1,2,3\n", UsageError, "which column is time, x, y, z"),
        ("time,x,y\n1,2,3\n", UsageError, "which column is z"),
        ("time,x,y,z\n1,2,3,4\n", UsageError, "is no time that is known"),
        ("time,x,y,z\n" + "26/11/2026 08:00:00,1,2,3\n" * 5, UsageError, "name another column"),
        ("time,x,y,z\n" + "5,1,2,3\n" * 5, UsageError, "s, ms, us or ns"),
        (b"\x00\x01\x02,1,2,3\n" * 4, InputError, "no text"),
    ],
)
def test_what_cannot_be_read(text: str | bytes, wrong: type[AsfoundError], said: str) -> None:
    with pytest.raises(wrong, match=said):
        log_of(text)


@given(st.binary(max_size=400))
def test_any_bytes_end_in_a_log_or_one_line(raw: bytes) -> None:
    def chunks() -> Iterator[bytes]:
        yield raw

    try:
        log = open_acceleration("x", chunks, AccelerationForm())
        count = sum(len(block) for block in log.blocks())
    except AsfoundError as error:
        assert "\n" not in str(error)
    else:
        assert count >= 0
