"""Units against published figures."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound import units
from asfound.sources import Limit, Source
from asfound.units import GIB, KIB, MIB, TIB, bitrate_text, clock_text


def test_binary_multiples_follow_iec_80000_13() -> None:
    # IEC 80000-13: kibi, mebi, gibi, tebi.
    assert (KIB, MIB, GIB, TIB) == (1024, 1_048_576, 1_073_741_824, 1_099_511_627_776)
    # 500 GB on the label are 465.6613 GiB on the screen.
    half_terabyte = 500e9 / GIB
    assert half_terabyte == pytest.approx(465.6613, abs=1e-4)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0:00"), (59.6, "1:00"), (61, "1:01"), (3600, "1:00:00"), (-258, "-4:18"), (-0.2, "0:00")],
)
def test_durations_are_written_as_a_clock(seconds: float, text: str) -> None:
    assert clock_text(seconds) == text


def test_bit_rates_use_decimal_prefixes() -> None:
    # SI prefixes: 1 Mbit = 1e6 bit, never 2^20.
    assert bitrate_text(2_000_000) == "2.00 Mbit/s"
    assert bitrate_text(512_000) == "512 kbit/s"


def test_a_limit_cites_its_source() -> None:
    limit = Limit(0.98, "1", Source("FFmpeg blackdetect", "picture_black_ratio_th", 2024))
    assert limit.source.cite() == "FFmpeg blackdetect, picture_black_ratio_th, 2024"


def test_quantities_with_units() -> None:
    # IEC 80000-13: decimal and binary multiples of the byte.
    assert units.parse_quantity("1TB", units.BYTES) == 1e12
    assert units.parse_quantity(" 1.5 tib ", units.BYTES) == 1.5 * 2**40
    assert units.parse_quantity("512 kbit/s", units.RATES) == 512e3
    for text in ("", "TB", "1", "-1TB", "1e3GB", "1 TBB", "1,5TB", "9" * 40 + "GB"):
        with pytest.raises(ValueError, match="is no figure"):
            units.parse_quantity(text, units.BYTES)


@given(st.floats(1e3, 9e14))
def test_bytes_are_written_to_three_figures(size: float) -> None:
    text = units.bytes_text(size)
    assert units.parse_quantity(text, units.BYTES) == pytest.approx(size, rel=0.006)


def test_a_figure_that_misses_a_limit_is_not_written_as_the_limit() -> None:
    assert units.below_text(18.9, 19) == "18" and units.below_text(18.4, 19) == "18"
    assert units.below_text(249.97, 250, 1) == "249.9" and units.below_text(5, 6) == "5"
    assert units.above_text(31.3, 31) == "32" and units.above_text(35.4, 31) == "35"
    # 1920 x 4 / (4.8 x 250) = 6.4 m exactly, whatever floating point leaves of it.
    assert units.down_text(1920 * 4 / 4.8 / 250, 1) == "6.4"
    assert units.down_text(2.9867, 1) == "2.9"


def test_limits_are_written_without_an_exponent() -> None:
    assert units.plain_text(1e6) == "1000000" and units.plain_text(0.25) == "0.25"
    assert units.plain_text(0) == "0" and units.plain_text(-60) == "-60"
