"""What came of a burned-in clock, in words; the sentences are this project's own."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from asfound.jobs.prove_clock_words import clock_line, clock_tone, clock_words, clocks_word
from asfound.model.burned_clock import BurnedClock, ClockState
from asfound.model.finding import Finding, Kind, Recording

CLOCK = BurnedClock(
    ClockState.RUNS, "2026-03-24 15:07:42", (10, 8, 200, 24), 54_462.5, 0.5, (date(2026, 3, 24),),
    8, 8, 1.0, offset_s=-2.5, against="the file's start in UTC", notes=("a note",),
)  # fmt: skip
START = datetime(2026, 3, 24, 15, 7, 45, tzinfo=UTC)
RECORDING = Recording("a.mp4", 1, "h264", 640, 360, 5.0, 60.0, 1e6, START, (), clock=CLOCK)
OFF = Finding(Kind.CLOCK_OFFSET, 0, 60, 42.5, 5.0, "s", "common practice", "", "42 s fast")


def test_words_say_how_it_goes_and_how_far_off_it_is() -> None:
    assert clock_words(CLOCK) == (
        "runs, 2026-03-24 15:07:42 at the start (± 0.5 s); "
        "0:02 slow against the file's start in UTC"
    )
    assert clock_line(CLOCK) == f"burned-in clock: {clock_words(CLOCK)}; a note"
    doubtful = replace(CLOCK, state=ClockState.DOUBTFUL, offset_s=None)
    assert clock_words(doubtful) == "cannot be read for sure"


def test_what_cannot_be_told_never_counts_as_good() -> None:
    assert clock_tone(RECORDING) == "good"
    assert clock_tone(replace(RECORDING, findings=(OFF,))) == "bad"
    for clock in (
        None,
        replace(CLOCK, offset_s=None),
        replace(CLOCK, state=ClockState.DOUBTFUL, offset_s=None),
    ):
        assert clock_tone(replace(RECORDING, clock=clock)) == "unclear"


def test_the_worst_of_several_is_told() -> None:
    none = replace(RECORDING, clock=None)
    unknown = replace(RECORDING, clock=replace(CLOCK, offset_s=None))
    assert clocks_word((none,)) == "" and clocks_word(()) == ""
    assert clocks_word((none, RECORDING)) == "clock within 3 s"
    assert clocks_word((RECORDING, unknown)) == "clock unclear"
    assert clocks_word((unknown, replace(RECORDING, findings=(OFF,)), RECORDING)) == "clock off"
