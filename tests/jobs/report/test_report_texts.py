"""Words of the report. Sources: RFC 3339 for UTC times, the IANA tz database for offsets,
SI and IEC 80000 for units."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import InputError
from asfound.jobs.report_texts import (
    KIND_WORDS,
    ORIGIN_WORDS,
    VERDICT_TONE,
    VERDICT_WORDS,
    codec_text,
    count,
    measured_text,
    number_text,
    seconds_text,
    shape_of,
    utc_text,
    value_text,
    when,
    zone,
)
from asfound.model.difference import OPEN, Verdict
from asfound.model.finding import Kind
from asfound.model.kinds import Date, Number, Secret, Switch, Text
from asfound.model.menu_map import Field
from asfound.model.target import Origin

AT = datetime(2026, 7, 1, 21, 14, 5, tzinfo=UTC)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("UTC", "1 Jul 2026, 21:14 +00:00"),
        ("Europe/Lisbon", "1 Jul 2026, 22:14 +01:00"),
        ("America/St_Johns", "1 Jul 2026, 18:44 −02:30"),
        ("Asia/Kathmandu", "2 Jul 2026, 02:59 +05:45"),
    ],
)
def test_times_carry_their_offset(name: str, expected: str) -> None:
    assert when(AT, zone(name)).replace("\u00a0", " ") == expected


def test_no_time_is_no_text_and_utc_is_rfc_3339() -> None:
    assert when(None, zone("UTC")) == ""
    assert utc_text(AT) == "2026-07-01T21:14:05Z"
    assert datetime.fromisoformat(utc_text(AT)) == AT


@pytest.mark.parametrize("name", ["Mars/Olympus", "", "../etc/passwd", "Europe"])
def test_an_unknown_zone_is_one_line(name: str) -> None:
    with pytest.raises(InputError, match="IANA name"):
        zone(name)


def test_every_kind_verdict_and_origin_has_words() -> None:
    assert set(KIND_WORDS) == set(Kind)
    assert set(VERDICT_WORDS) == set(VERDICT_TONE) == set(Verdict)
    assert set(ORIGIN_WORDS) == set(Origin)
    assert len(set(KIND_WORDS.values())) == len(Kind)
    assert {shape_of(kind) for kind in Kind} == {
        "square", "cross", "bars", "hollow", "triangle", "ring", "diamond",
    }  # fmt: skip


def test_nothing_open_or_unclear_looks_good() -> None:
    assert [v for v in Verdict if VERDICT_TONE[v] == "good"] == [Verdict.SAME]
    assert all(VERDICT_TONE[verdict] in ("bad", "unclear") for verdict in OPEN)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0:00.0"), (59.96, "1:00.0"), (63.4, "1:03.4"), (3725.04, "1:02:05.0"), (-2, "−0:02.0")],
)
def test_seconds(seconds: float, text: str) -> None:
    assert seconds_text(seconds) == text


@given(st.floats(0, 1e6))
def test_seconds_read_back_to_a_tenth(seconds: float) -> None:
    total = 0.0
    for part in seconds_text(seconds).split(":"):
        total = total * 60 + float(part)
    assert total == pytest.approx(seconds, abs=0.0501)


def test_figures_have_units_and_no_false_precision() -> None:
    assert measured_text(12.5, "fps") == "12.5\u00a0fps"
    assert measured_text(0.99812, "1") == "0.9981"
    assert measured_text(None, "s") == ""
    assert number_text(2_031_234.5) == "2031234"
    assert count(1, "day") == "1 day" and count(2, "day") == "2 days"
    assert count(0, "entry", "entries") == "0 entries"
    assert codec_text("h264") == "H.264" and codec_text("vp9") == "vp9"


def test_values_as_on_the_screen() -> None:
    shock = Field("s", "S", Number(Decimal(0), Decimal(5), Decimal("0.1"), 1, "g"))
    assert value_text(shock, "0.8") == "0.8 g"
    assert value_text(shock, "nonsense") == "nonsense"
    assert value_text(Field("w", "W", Switch("Yes", "No")), "on") == "Yes"
    assert value_text(Field("d", "D", Date("DD.MM.YYYY")), "2026-11-24") == "24.11.2026"
    assert value_text(Field("t", "T", Text()), "") == "(empty)"
    assert value_text(None, "x") == "x" and value_text(None, "") == "(empty)"
    assert value_text(shock, None) == ""


@given(st.text())
def test_a_secret_never_shows(text: str) -> None:
    assert value_text(Field("c", "C", Secret()), text) in ("set", "blank")
