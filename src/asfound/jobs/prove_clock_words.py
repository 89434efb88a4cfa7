"""What came of a burned-in clock, in words for a person: screen, contact sheet and report."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from asfound.calc.overlay_text import moment_of
from asfound.model.burned_clock import BurnedClock, ClockState
from asfound.model.finding import Kind, Recording
from asfound.units import clock_text

WORDS = {
    ClockState.RUNS: "runs",
    ClockState.STANDS: "stands still",
    ClockState.STOPS: "stops",
    ClockState.STARTS: "stands still, then goes on",
    ClockState.JUMPS: "jumps",
    ClockState.OTHER_RATE: "runs at another rate",
    ClockState.DOUBTFUL: "cannot be read for sure",
}


def clock_words(clock: BurnedClock) -> str:
    """How it goes, what it showed at the start, and how far off that is."""
    day = clock.days[0] if len(clock.days) == 1 else None
    at = moment_of(clock.clock_s, day)
    words = WORDS[clock.state]
    if clock.state is not ClockState.DOUBTFUL:
        words += f", {at:%Y-%m-%d %H:%M:%S}" if day else f", {at:%H:%M:%S}"
        words += f" at the start (± {clock.within_s:.1f} s)"
    if clock.offset_s is not None:
        way = "fast" if clock.offset_s > 0 else "slow"
        words += f"; {clock_text(abs(clock.offset_s))} {way} against {clock.against}"
    return words


def clock_line(clock: BurnedClock) -> str:
    """For a person, in one line."""
    return "; ".join([f"burned-in clock: {clock_words(clock)}", *clock.notes])


def clock_tone(recording: Recording) -> str:
    """ "bad" with a finding about the clock, "unclear" where it is not known what it says or
    nothing could be held against it, else "good"."""
    clock = recording.clock
    if any(finding.kind is Kind.CLOCK_OFFSET for finding in recording.findings):
        return "bad"
    if clock is None or clock.state is ClockState.DOUBTFUL or clock.offset_s is None:
        return "unclear"
    return "good"


def clocks_word(recordings: Sequence[Recording]) -> str:
    """The burned-in clocks of some recordings in two or three words, the worst of them; "" where
    none was found."""
    seen = [recording for recording in recordings if recording.clock is not None]
    tones = {clock_tone(recording) for recording in seen}
    if not seen:
        return ""
    if "bad" in tones:
        return "clock off"
    if "unclear" in tones:
        return "clock unclear"
    offsets = [abs(one.clock.offset_s or 0.0) for one in seen if one.clock is not None]
    return f"clock within {max(1, ceil(max(offsets)))} s"
