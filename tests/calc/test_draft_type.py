"""Types from the values seen. What the values of a type look like is common practice, no source."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.draft_evidence import Evidence, Guess, Habits
from asfound.calc.draft_type import guess_type
from asfound.model.draft import Sample
from asfound.model.kinds import (
    Choice,
    Date,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.values import problem


def guess(
    label: str, *texts: str, habits: Habits | None = None, clocks: tuple[str, ...] = ()
) -> Guess:
    samples = tuple(Sample(text) for text in texts)
    return guess_type(Evidence(label, samples, clocks), habits or Habits())


@pytest.mark.parametrize(
    ("label", "texts", "kind"),
    [
        ("Braking", ["0.55 g", "0.60 g"],
         Number(Decimal("0.00"), Decimal("999.99"), Decimal("0.01"), 2, "g")),
        ("Web port", ["8081", "80", "9000"], Number(Decimal(0), Decimal(99999))),
        ("From", ["06:00"], Time()),
        ("Set time", ["21:40:05"], Time(seconds=True)),
        ("Address", ["10.20.30.40"], IPv4()),
        ("Server", ["rec.example.net"], Host(120)),
        ("Record", ["On", "0ff", "on"], Switch("On", "Off")),
        ("Keep", ["Yes", "No"], Switch("Yes", "No")),
        ("Summer time", ["EU rule", "None", "EU rule", "US rule", "None"],
         Choice(("EU rule", "None", "US rule"))),
        ("Serial number", ["QF-7KX20B1"], ReadOnly("serial")),
        ("Software", ["4.0.2"], ReadOnly("version")),
        ("Free", ["931.5 GB"], ReadOnly("text")),
        ("Now", ["17/03/2026 21:40:05"], ReadOnly("clock")),
        ("Raster", ["720 lines", "1080 lines"], Choice(("720 lines", "1080 lines"))),
        ("Heat below", ["-19 °C", "5 °C"], Number(Decimal(-99), Decimal(999), Decimal(1), 0, "°C")),
    ],
)  # fmt: skip
def test_types(label: str, texts: list[str], kind: object) -> None:
    assert guess(label, *texts).type == kind


def test_masks_and_secrets() -> None:
    masked = guess_type(Evidence("Menu code", (Sample("", masked=True),)), Habits())
    assert isinstance(masked.type, Secret)
    stray = (Sample("", masked=True), *(Sample(word) for word in ("No", "Yes", "No", "Yes")))
    assert isinstance(guess_type(Evidence("Flip", stray), Habits()).type, Switch)
    blank = guess("SIM code", "")
    assert isinstance(blank.type, Secret) and "type" in blank.unsure and blank.check
    shown = guess("Password", "hunter2")
    assert isinstance(shown.type, Secret)
    assert "hunter2" not in shown.check
    assert isinstance(guess("Ask for password", "Yes", "No").type, Switch)


def test_a_bar_makes_a_figure_a_level() -> None:
    found = guess_type(Evidence("Contrast", (Sample("5", bar=True), Sample("12"))), Habits())
    assert found.type == Level(0, 100)


def test_one_word_is_marked() -> None:
    for word in ("Off", "Strong", "Never"):
        assert "type" in guess("Something", word).unsure
        assert guess("Something", word).check
    assert isinstance(guess("Delete after", "Never").type, Number)


def test_words_between_numbers_are_kept() -> None:
    found = guess("Keep", "Never", "31 days", "14 days")
    assert isinstance(found.type, Number)
    assert found.type.words == ("Never",)
    assert found.type.unit == "days"
    assert problem(found.type, "7") is None


def test_lamps_tell_switches_from_lists() -> None:
    habits = Habits(lamps=True)
    armed = tuple(Sample(word, lamp=True) for word in ("Armed", "Idle", "Armed"))
    assert guess_type(Evidence("Trigger", armed), habits).type == Switch("Armed", "Idle")
    both = (Sample("On"), Sample("Off"))
    assert isinstance(guess_type(Evidence("Wireless", both), habits).type, Switch)
    plain = guess_type(Evidence("Wireless", (Sample("Off"),)), habits)
    assert isinstance(plain.type, Choice)


def test_a_misread_value_among_many_changes_nothing() -> None:
    words = ["On"] * 12 + ["Off"] * 8 + ["100n", "1"]
    assert guess("Sound", *words).type == Switch("On", "Off")


def test_two_words_of_its_own_seen_often_are_a_switch() -> None:
    found = guess("Microphone", *["Muted"] * 6, *["Live"] * 3)
    assert found.type == Switch("Muted", "Live") and "is on?" in found.check


def test_marks_round_every_value_tell_texts_from_lists() -> None:
    habits = Habits(stepped=True)
    assert isinstance(guess("View", "Rear", habits=habits).type, Text)
    stepped = guess_type(Evidence("View", (Sample("Rear", stepped=True),)), habits)
    assert isinstance(stepped.type, Choice)


def test_blank_rows_hold_texts() -> None:
    assert isinstance(guess("Account", "", "depot5").type, Text)
    assert isinstance(guess("Anything", "").type, Text)


def test_faint_rows_are_only_shown() -> None:
    samples = tuple(Sample(text, faded=True) for text in ("24.1 V", "12.9 V", "27.0 V"))
    assert guess_type(Evidence("Battery", samples), Habits()).type == ReadOnly("text")


def test_a_date_that_is_the_clock_runs() -> None:
    found = guess("Set date", "17.03.2026", clocks=("17.03.2026 21:40:05",))
    assert found.type == Date("DD.MM.YYYY") and found.volatile
    other = guess("Next service", "01.04.2026", clocks=("17.03.2026 21:40:05",))
    assert not other.volatile


def test_day_and_month_are_marked_until_a_day_tells() -> None:
    assert "layout" in guess("Fitted on", "03/04/2025").unsure
    assert guess("Fitted on", "03/04/2025", "28/04/2025").type == Date("DD/MM/YYYY")
    known = guess("Fitted on", "03/04/2025", habits=Habits(layout="MM/DD/YYYY"))
    assert known.type == Date("MM/DD/YYYY") and not known.unsure


WORDS = st.sampled_from(
    ["On", "Off", "12 V", "5", "300 s", "Auto", "", "10.0.0.1", "06:30", "-3", "1.25 g", "H.265",
     "123456789", "0.001", "a" * 50, "٣", "x\u00a0y"]
)  # fmt: skip


@given(st.lists(st.one_of(WORDS, st.text(max_size=12)), max_size=8), st.booleans())
def test_any_evidence_gives_a_type_that_allows_its_values(texts: list[str], lamps: bool) -> None:
    found = guess("Some row", *texts, habits=Habits(lamps=lamps))
    kind = found.type
    if isinstance(kind, Number):
        assert (kind.maximum - kind.minimum) % kind.step == 0
        assert (kind.maximum - kind.minimum) / kind.step <= 100_000
    if isinstance(kind, Choice):
        assert len(set(kind.options)) == len(kind.options) >= 1
    if isinstance(kind, Switch):
        assert kind.on != kind.off
