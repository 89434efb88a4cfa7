"""Figures and times of logs. Sources: RFC 3339, 5.8 (examples); IANA zones; exact units."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime
from math import isnan
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.log_values import SPEED_UNITS, TimeForm, log_time, number

MADRID = ZoneInfo("Europe/Madrid")


def test_figures() -> None:
    assert number(" 3.5 ") == 3.5 and number("3,5", comma=True) == 3.5 and number("-.5") == -0.5
    assert number("3.5", comma=True) == 3.5 and isnan(number("  "))
    for text in ("3,5", "1e3", "nan", "inf", "1.234,5", "0x3", "٣", "1 2"):
        with pytest.raises(ValueError, match="no figure"):
            number(text)


def test_units() -> None:
    """Knot and mile by definition: 22.4 kn = 41.4848 km/h, 1 mph = 1.609344 km/h."""
    assert 22.4 * SPEED_UNITS["knots"] * 3.6 == pytest.approx(41.4848)
    assert SPEED_UNITS["mph"] * 3.6 == pytest.approx(1.609344)
    assert SPEED_UNITS["km/h"] * 3.6 == pytest.approx(1)


def test_times() -> None:
    iso = TimeForm.ISO
    assert log_time("1996-12-19T16:39:57-08:00", iso, UTC) == 851_042_397
    assert log_time("1996-12-20T00:39:57Z", iso, MADRID) == 851_042_397
    assert log_time("1996-12-20 01:39:57,5", iso, MADRID) == 851_042_397.5
    assert log_time("851042397,25", TimeForm.SECONDS, UTC, comma=True) == 851_042_397.25
    assert log_time("851042397250", TimeForm.MILLISECONDS, UTC) == 851_042_397.25


def test_hours_that_do_not_exist_or_come_twice() -> None:
    """Europe/Madrid 2026: clocks go forward on 29 March at 01:00Z, back on 25 October at 01:00Z."""
    with pytest.raises(ValueError, match="did not exist"):
        log_time("2026-03-29T02:30:00", TimeForm.ISO, MADRID)
    twice = log_time("2026-10-25T02:30:00", TimeForm.ISO, MADRID)
    assert datetime.fromtimestamp(twice, UTC) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize("text", ["", "soon", "2026-02-30T00:00:00Z", "0001-01-01T00:00:00+09:00"])
def test_what_is_no_time(text: str) -> None:
    with pytest.raises(ValueError, match=r"time|calendar"):
        log_time(text, TimeForm.ISO, UTC)
    with pytest.raises(ValueError, match="no"):
        log_time(text, TimeForm.SECONDS, UTC)


@given(st.text(max_size=40), st.sampled_from(list(TimeForm)), st.booleans())
def test_nothing_but_a_value_error(text: str, form: TimeForm, comma: bool) -> None:
    with suppress(ValueError):
        log_time(text, form, MADRID, comma)
