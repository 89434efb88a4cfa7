"""Ignition logs: both forms, what they leave open, and every mistake with file and line."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.errors import AsfoundError, InputError, NotFound
from asfound.model.coverage import IgnitionLog, Period
from asfound.ports.backends.ignition_csv import load_ignition


def at(hour: int, minute: int = 0, day: int = 1) -> datetime:
    return datetime(2026, 3, day, hour, minute, tzinfo=UTC)


def load(folder: Path, text: str | bytes, vehicle: str = "") -> IgnitionLog:
    path = folder / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return load_ignition(path, vehicle)


def test_pairs_with_their_offsets(tmp_path: Path) -> None:
    # RFC 3339 section 4.2: 09:00 at +01:00 is 08:00 UTC.
    log = load(tmp_path, "on,off\n2026-03-01T09:00:00+01:00,2026-03-01T10:30:00Z\n")
    assert log == IgnitionLog((Period(at(8), at(10, 30)),))


def test_changes_repeated_and_out_of_order(tmp_path: Path) -> None:
    text = (
        "time;ignition;speed\r\n2026-03-01T08:00:00Z;on;0\r\n2026-03-01T08:10:00Z;ON;31\r\n"
        "2026-03-01T12:00:00Z;1;2\r\n2026-03-01T09:00:00Z;off;0\r\n2026-03-01T12:30:00Z;0;0\r\n"
    )
    log = load(tmp_path, b"\xef\xbb\xbf" + text.encode())
    assert log.driven == (Period(at(8), at(9)), Period(at(12), at(12, 30)))
    assert log.notes == ()


def test_what_the_log_leaves_open_is_said(tmp_path: Path) -> None:
    log = load(
        tmp_path,
        "time,ignition\n2026-03-01T07:00:00Z,off\n2026-03-01T08:00:00Z,on\n"
        "2026-03-01T08:20:00Z,on\n",
    )
    assert log.driven == (Period(at(8), at(8, 20)),)
    assert len(log.notes) == 2
    assert "begins with off at 2026-03-01T07:00:00Z" in log.notes[0]
    assert "ends with the ignition on" in log.notes[1]
    open_end = load(tmp_path, "on,off\n2026-03-01T08:00:00Z,2026-03-01T09:00:00Z\n"
                    "2026-03-01T10:00:00Z,\n")  # fmt: skip
    assert open_end.driven == (Period(at(8), at(9)),)
    assert "log.csv:3: no time of switching off" in open_end.notes[0]


def test_one_vehicle_of_several(tmp_path: Path) -> None:
    text = (
        "vehicle,on,off\n217,2026-03-01T08:00:00Z,2026-03-01T09:00:00Z\n"
        "218,2026-03-01T10:00:00Z,2026-03-01T11:00:00Z\n"
    )
    assert load(tmp_path, text, "218").driven == (Period(at(10), at(11)),)
    with pytest.raises(InputError, match="2 vehicles"):
        load(tmp_path, text)
    with pytest.raises(NotFound, match="vehicle 219"):
        load(tmp_path, text, "219")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty"),
        ("start,end\n1,2\n", "log.csv:1: columns"),
        ("on,off\n", "says of no time"),
        ("on,on,off\n", "stands there twice"),
        ("on,off\n2026-03-01T08:00:00,2026-03-01T09:00:00Z\n", "log.csv:2: on: .* no time"),
        ("on,off\n2026-03-01T25:00:00Z,2026-03-01T09:00:00Z\n", "log.csv:2: on"),
        ("on,off\n2026-02-30T08:00:00Z,2026-03-01T09:00:00Z\n", "log.csv:2: on"),
        ("on,off\n2026-03-01T10:00:00Z,2026-03-01T09:00:00Z\n", "log.csv:2: off: lies before"),
        ("on,off\n2026-03-01,2026-03-01\n", "2 faults"),
        ("on,off\n2026-03-01T10:00:00Z,2026-03-01T09:00:00Z,x\n", "3 cells under 2 columns"),
        ("time,ignition\n2026-03-01T10:00:00Z,perhaps\n", "log.csv:2: ignition: 'perhaps'"),
        ('on,off\n"2026\n', "no CSV"),
        (b"on,off\n\xff\n", "log.csv:2: file: not UTF-8"),
    ],
)
def test_mistakes_are_told_with_their_place(tmp_path: Path, text: str | bytes, says: str) -> None:
    with pytest.raises(InputError, match=says):
        load(tmp_path, text)


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        load_ignition(tmp_path / "none.csv")
    with pytest.raises(InputError, match="folder"):
        load_ignition(tmp_path)


@given(st.lists(st.tuples(st.integers(0, 10**6), st.booleans()), min_size=1, max_size=30))
@settings(max_examples=40)
def test_changes_say_the_same_as_a_switch(
    tmp_path_factory: pytest.TempPathFactory, changes: list[tuple[int, bool]]
) -> None:
    """Turned like a switch, second by second of the changes, in order of time."""
    path = tmp_path_factory.mktemp("log") / "log.csv"
    lines = [f"{(at(0) + timedelta(seconds=s)).isoformat()},{'on' if on else 'off'}"
             for s, on in changes]  # fmt: skip
    path.write_text("time,ignition\n" + "\n".join(lines) + "\n")
    seconds, last, before = 0, False, 0
    for second, on in sorted(changes, key=lambda change: change[0]):
        seconds += (second - before) if last else 0
        before, last = second, on
    if not any(on for _, on in changes):
        with pytest.raises(InputError, match="no time"):
            load_ignition(path)
        return
    driven = load_ignition(path).driven
    assert sum(period.hours for period in driven) * 3600 == pytest.approx(seconds, abs=1e-6)


@given(st.binary(max_size=200))
@settings(max_examples=60)
def test_no_bytes_bring_it_down(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.mktemp("log") / "log.csv"
    path.write_bytes(b"time,ignition\n" + data)
    with pytest.raises(AsfoundError):
        load_ignition(path)
