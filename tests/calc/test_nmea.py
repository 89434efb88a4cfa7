"""Sentences against examples that are printed everywhere, and `pynmea2` as the reader beside.

Sources: checksums and fields of the usual examples of NMEA 0183 (computed by hand and read in many
places); `pynmea2`.
"""

from __future__ import annotations

import re
from contextlib import suppress
from datetime import date
from math import isnan

import pynmea2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.nmea import body, checksum, clock_seconds, day_of, degrees, parse

RMC = "GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W"
EXAMPLES = [
    (RMC, 0x6A),
    ("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,", 0x47),
    ("GPRMC,225446,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E", 0x68),
    ("GPGLL,4916.45,N,12311.12,W,225444,A", 0x31),
    ("GPVTG,054.7,T,034.4,M,005.5,N,010.2,K", 0x48),
]


@pytest.mark.parametrize(("inner", "expected"), EXAMPLES)
def test_checksums(inner: str, expected: int) -> None:
    assert checksum(inner) == expected
    assert body(f"${inner}*{expected:02X}") == (f"${inner}", True)
    assert body(f"${inner}*{expected:02x} ")[1] is True
    assert body(f"${inner}*{expected ^ 1:02X}")[1] is False
    assert body(f"${inner}*{expected:02X}7")[1] is False
    assert body(f"${inner}*G")[1] is False
    assert body(f"${inner}")[1] is None


def test_fields() -> None:
    said = parse(f"${RMC}")
    assert said is not None and said.kind == "RMC" and said.fix is True
    assert said.day == date(1994, 3, 23) and said.clock_s == 12 * 3600 + 35 * 60 + 19
    assert said.lat_deg == pytest.approx(48.1173) and said.lon_deg == pytest.approx(11.516667)
    assert said.speed_ms * 3.6 == pytest.approx(41.4848) and said.course_deg == 84.4


@pytest.mark.parametrize("inner", [each for each, _ in EXAMPLES])
def test_positions_and_speeds_as_pynmea2_reads_them(inner: str) -> None:
    said, other = parse(f"${inner}"), pynmea2.parse(f"${inner}*{checksum(inner):02X}")
    assert said is not None
    if said.kind == "VTG":
        assert said.speed_ms * 3.6 == pytest.approx(float(other.spd_over_grnd_kmph))
        assert said.course_deg == pytest.approx(float(other.true_track))
        return
    assert said.lat_deg == pytest.approx(other.latitude)
    assert said.lon_deg == pytest.approx(other.longitude)
    assert said.day == getattr(other, "datestamp", None)


def test_void_and_empty_and_other_kinds() -> None:
    void = parse("$GNRMC,120000,V,,,,,,,010126,,,N")
    assert void is not None and void.fix is False and isnan(void.lat_deg)
    quality = parse("$GPGGA,120000,4807.038,N,01131.000,E,0,00,,,M,,M,,")
    assert quality is not None and quality.fix is False and quality.day is None
    zda = parse("$GPZDA,201530.00,04,07,2002,00,00")
    assert zda is not None and zda.day == date(2002, 7, 4) and zda.clock_s == 72_930
    assert parse("$GPGSV,3,1,11,03,03,111,00") is None and parse("$PXYZ,1") is None


@pytest.mark.parametrize(
    "inner",
    [
        "$GPRMC,253519,A,4807.038,N,01131.000,E,022.4,084.4,230394",
        "$GPRMC,123519,A,4867.038,N,01131.000,E,022.4,084.4,230394",
        "$GPRMC,123519,A,4807.038,X,01131.000,E,022.4,084.4,230394",
        "$GPRMC,123519,A,-807.038,N,01131.000,E,022.4,084.4,230394",
        "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,310294",
        "$GPRMC,123519,A,4807.038,N,01131.000,E,nan,084.4,230394",
        "$GPRMC,123519,Q,4807.038,N,01131.000,E,022.4,084.4,230394",
        "$GPRMC,123519,A,4807.0",
        "$GPGGA,123519,4807.038,N,01131.000,E,x,08",
        "$GPZDA,201530.00,31,02,2002,00,00",
        "$GPZDA,201530.00,a,02,2002",
        "no sentence",
    ],
)
def test_what_is_no_sentence(inner: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        parse(inner)


def test_years_of_two_digits() -> None:
    """Satellite time began on 1980-01-06."""
    assert day_of("060180") == date(1980, 1, 6) and day_of("311279") == date(2079, 12, 31)


@given(st.floats(-90, 90))
def test_degrees_come_back(value: float) -> None:
    whole, part = divmod(abs(value), 1)
    text = f"{int(whole):02d}{part * 60:011.8f}"
    if re.match(r"\d\d60", text):
        return
    assert degrees(text, "N" if value >= 0 else "S", "NS") == pytest.approx(value, abs=1e-8)


@given(st.integers(0, 86_399))
def test_clocks_come_back(second: int) -> None:
    minutes, rest = divmod(second, 60)
    assert clock_seconds(f"{minutes // 60:02d}{minutes % 60:02d}{rest:02d}.00") == second


@given(st.text(max_size=90))
def test_nothing_but_a_value_error(text: str) -> None:
    inner, _ = body("$" + text)
    with suppress(ValueError):
        parse(inner)


@given(
    st.sampled_from(["RMC", "GGA", "GLL", "VTG", "ZDA"]),
    st.lists(st.text("0123456789.,AVNSEW-*", max_size=12), max_size=14),
)
def test_fields_of_any_kind_end_in_a_value_error_at_most(kind: str, fields: list[str]) -> None:
    with suppress(ValueError):
        parse(f"$GP{kind},{','.join(fields)}")
