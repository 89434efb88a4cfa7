"""Stamps of a wrong clock: findings of their own that stretch no timeline. Counted by hand; years
and days from the Gregorian calendar (ISO 8601)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.jobs.prove_checks import verdict_of, with_seams
from asfound.jobs.prove_stamps import sort_stamps
from asfound.model.finding import Kind, ProofVerdict, Recording

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
DAY_S = 86400.0


def clip(start: datetime | None, file: str = "a.mp4", channel: int | None = 1) -> Recording:
    return Recording(file, channel, "h264", 640, 360, 12.0, 60.0, 1e6, start, ())


def minutes(count: int) -> list[Recording]:
    """So many recordings, each where the one before ends."""
    return [clip(START + timedelta(minutes=n), f"{n}.mp4") for n in range(count)]


def test_a_stamp_of_2040_is_a_clock_ahead_and_makes_no_gap() -> None:
    late = clip(datetime(2040, 3, 1, 8, 0, tzinfo=UTC), "late.mp4")
    *good, found = with_seams([*minutes(3), late], 2.0, NOW)
    assert all(not one.findings and not one.unclear for one in good)
    [finding] = found.findings
    assert (finding.kind, finding.end_s, finding.unit) == (Kind.CLOCK_OFFSET, 60.0, "s")
    # 2 March 2026 to 1 March 2040: 14 years with the leap days of 2028, 2032, 2036 and 2040, less
    # one day.
    assert finding.measured == (14 * 365 + 4 - 1) * DAY_S
    assert finding.note == "stamped 2040-03-01, 14.0 years later than now: the clock was ahead"
    assert verdict_of([*good, found], ()) is ProofVerdict.FAULTS


def test_without_a_clock_of_our_own_2040_stands_apart_from_the_others() -> None:
    late = clip(datetime(2040, 3, 1, 8, 0, tzinfo=UTC), "late.mp4")
    *good, found = with_seams([*minutes(3), late], 2.0)
    assert all(not one.findings for one in good)
    [finding] = found.findings
    assert (finding.kind, finding.unit, finding.limit) == (Kind.CLOCK_JUMP, "d", 365.0)
    assert "14.0 years after the other 3 recordings" in finding.note
    assert "the clock was wrong, or this is footage of another time" in finding.note


@pytest.mark.parametrize("year", [1970, 2000, 2012])
def test_a_clock_that_fell_back_makes_no_gap_of_years(year: int) -> None:
    early = clip(datetime(year, 1, 1, 0, 5, tzinfo=UTC), "early.mp4")
    found, *good = with_seams([early, *minutes(4)], 2.0, NOW)
    assert all(not one.findings for one in good)
    assert [one.kind for one in found.findings] == [Kind.CLOCK_JUMP]
    assert f"stamped {year}-01-01" in found.findings[0].note
    assert "before the other 4 recordings" in found.findings[0].note


def test_which_of_two_is_right_cannot_be_told() -> None:
    early = clip(START - timedelta(days=800), "early.mp4")
    found, good = with_seams([early, clip(START)], 2.0, NOW)
    assert not good.findings, "the later one is held to be right"
    assert "which of the two was right cannot be told" in found.findings[0].note
    assert "before the other recording" in found.findings[0].note


def test_gaps_within_a_timeline_stay_gaps() -> None:
    early = [clip(START - timedelta(days=900, minutes=n), f"e{n}.mp4") for n in (0, 5)]
    made = with_seams([*minutes(2), clip(START + timedelta(minutes=9), "n.mp4"), *early], 2.0, NOW)
    assert [[one.kind for one in item.findings] for item in made] == [
        [], [Kind.GAP], [], [Kind.CLOCK_JUMP], [Kind.CLOCK_JUMP, Kind.GAP],
    ]  # fmt: skip
    assert made[4].findings[1].measured == 4 * 60


def test_what_a_zone_can_do_is_no_clock_ahead() -> None:
    """Zones are up to 14 h ahead of UTC (IANA time zone database: Pacific/Kiritimati)."""
    fine = with_seams([clip(NOW + timedelta(hours=14))], 2.0, NOW)
    assert fine[0].findings == ()
    ahead = with_seams([clip(NOW + timedelta(hours=25)), clip(NOW)], 2.0, NOW)
    assert [one.kind for one in ahead[0].findings] == [Kind.CLOCK_OFFSET]
    assert ahead[1].findings == (), "a day without a recording is not made of a stamp in the future"


def test_all_in_the_future_is_said_of_each_and_gaps_stay() -> None:
    made = with_seams([clip(NOW + timedelta(days=9, hours=n)) for n in (0, 1)], 2.0, NOW)
    assert [[one.kind for one in item.findings] for item in made] == [
        [Kind.CLOCK_OFFSET, Kind.GAP], [Kind.CLOCK_OFFSET],
    ]  # fmt: skip


def test_a_recording_without_a_start_counts_to_the_main_timeline() -> None:
    early = clip(START - timedelta(days=900), "early.mp4")
    made = with_seams([early, clip(None, "x.mp4"), *minutes(2)], 2.0, NOW)
    assert "gaps on channel 1 cannot be judged" in made[1].unclear[0]
    assert made[0].unclear == ()


def test_a_pause_of_less_than_a_year_is_a_gap() -> None:
    made = with_seams([clip(START - timedelta(days=300)), clip(START, "b.mp4")], 2.0, NOW)
    assert [one.kind for one in made[0].findings] == [Kind.GAP]


@given(
    st.lists(st.integers(-5000, 5000), max_size=12),
    st.none() | st.integers(-3000, 6000),
)
def test_timelines_are_whole_and_apart(days: list[int], now: int | None) -> None:
    starts = [day * DAY_S for day in days]
    made = sort_stamps(starts, None if now is None else now * DAY_S)
    assert len(made.timeline) == len(starts) and sum(made.sizes) == len(starts)
    for first, own in zip(days, made.timeline, strict=True):
        assert (own in made.future) == (now is not None and first > now + 1)
        for second, other in zip(days, made.timeline, strict=True):
            if own != other and (own in made.future) == (other in made.future):
                assert abs(first - second) > 365
    if made.main is not None:
        past = [size for number, size in enumerate(made.sizes) if number not in made.future]
        assert made.sizes[made.main] == max(past)
    else:
        assert len(made.future) == len(made.sizes)
