"""The clock on the command line and in JSON."""

from __future__ import annotations

from dataclasses import replace

import pytest

from asfound.cli.clock_show import clock_json, show_clock
from asfound.model.clock import ClockOffset
from asfound.model.reading import Reading

NONE = Reading("m", "1", (), (), ())
CLOCK = ClockOffset(40.0, 42.0, 1, "UTC", hint="a hint", notes=("one", "two"))


def test_lines(capsys: pytest.CaptureFixture[str]) -> None:
    show_clock(replace(NONE, clock=CLOCK), "as found")
    assert capsys.readouterr().out.splitlines() == [
        "clock as found: 41 s fast (± 1 s), from 1 photograph",
        "  against UTC; the phone taken to be right to 1 s", "  a hint", "  one", "  two",
    ]  # fmt: skip
    show_clock(NONE)
    assert capsys.readouterr().out == ""
    show_clock(replace(NONE, clock_note="no time"))
    assert capsys.readouterr().out == "clock: no time\n"


def test_json() -> None:
    assert clock_json(None) is None
    made = clock_json(CLOCK)
    assert made is not None and list(made) == [
        "offset_s", "low_s", "high_s", "photos", "zone", "zone_sure", "phone_error_s",
        "contradictory", "hint", "notes",
    ]  # fmt: skip
    assert (made["offset_s"], made["low_s"], made["high_s"]) == (41.0, 40.0, 42.0)
