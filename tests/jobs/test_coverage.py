"""Coverage: held against a plain grid of minutes, and case by case."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.errors import UsageError
from asfound.jobs.coverage import Cover, cover
from asfound.model.coverage import (
    Coverage,
    CoverageVerdict,
    Hours,
    IgnitionLog,
    Period,
    Piece,
    Schedule,
)

DAY = datetime(2026, 3, 2, tzinfo=UTC)
NOW = DAY + timedelta(days=3)
GRID = 300


def at(minute: float) -> datetime:
    return DAY + timedelta(minutes=minute)


def log(*spans: tuple[float, float]) -> IgnitionLog:
    return IgnitionLog(tuple(Period(at(a), at(b)) for a, b in spans))


def disk(*pieces: tuple[int, float, float]) -> tuple[Piece, ...]:
    return tuple(Piece(ch, f"ch{ch}-{n}.mp4", at(a), at(b)) for n, (ch, a, b) in enumerate(pieces))


def minutes(periods: Sequence[Period]) -> set[int]:
    return {m for m in range(GRID) if any(p.start <= at(m) < p.end for p in periods)}


def test_all_there() -> None:
    made = cover(Cover(disk((1, 0, 30), (1, 30, 60)), log((0, 60)), NOW))
    assert made.verdict is CoverageVerdict.COMPLETE
    [channel] = made.channels
    assert (channel.share, channel.missing, channel.whole_since) == (1.0, (), DAY)


def test_a_hole_is_told_and_a_minute_to_start_is_not() -> None:
    made = cover(Cover(disk((1, 1, 30), (1, 45, 60), (2, 0, 60)), log((0, 60)), NOW))
    assert made.verdict is CoverageVerdict.MISSING
    first, second = made.channels
    assert first.missing == (Period(at(30), at(45)),)
    assert first.held_h == pytest.approx(44 / 60)
    assert first.share == pytest.approx(44 / 60)
    assert first.scraps_h == pytest.approx(1 / 60)
    assert first.whole_since == at(45)
    assert second.missing == () and second.share == 1


def test_what_is_older_than_the_drive_keeps_is_apart() -> None:
    made = cover(Cover(disk((1, 120, 180)), log((0, 60), (120, 180)), NOW))
    assert made.verdict is CoverageVerdict.COMPLETE
    assert made.older_h == pytest.approx(1)
    assert made.window == Period(at(120), at(180))


def test_days_promised_count_all_of_them() -> None:
    spans = [(1440.0 * day, 1440.0 * day + 60) for day in range(10)]
    kept = [(1, a, b) for a, b in spans[6:]]
    made = cover(Cover(disk(*kept), log(*spans), NOW, days=8))
    assert made.short == (1,)
    [channel] = made.channels
    # The window ends with the last drive, 9 days and 1 h in: drives 2 to 9 lie in it whole.
    assert channel.expected_h == pytest.approx(8)
    assert channel.held_h == pytest.approx(4)
    assert channel.days_kept == pytest.approx(3 + 1 / 24)
    fine = cover(Cover(disk(*kept), log(*spans[6:]), NOW, days=8))
    assert fine.short == () and fine.verdict is CoverageVerdict.COMPLETE, "nobody drove before"


def test_a_channel_without_a_file_is_missing() -> None:
    made = cover(Cover(disk((1, 0, 60)), log((0, 60)), NOW, channels=(1, 2)))
    assert made.verdict is CoverageVerdict.MISSING
    assert made.channels[1].share == 0 and made.channels[1].oldest is None


def test_what_cannot_be_told_is_unclear() -> None:
    placed = disk((1, 0, 60))
    odd: tuple[Piece | str, ...] = (*placed, "x.mp4: when it starts is not known")
    assert cover(Cover(odd, log((0, 60)), NOW)).verdict is CoverageVerdict.UNCLEAR
    noted = IgnitionLog(log((0, 60)).driven, ("log.csv: ends with the ignition on",))
    assert cover(Cover(placed, noted, NOW)).unclear == noted.notes
    nothing = cover(Cover(placed, log((0, 60)), NOW, since=at(70), until=at(90)))
    assert nothing.verdict is CoverageVerdict.UNCLEAR
    assert nothing.channels[0].share is None
    empty = cover(Cover((), log((0, 60)), NOW))
    assert empty.channels == () and empty.verdict is CoverageVerdict.UNCLEAR


def test_a_window_that_cannot_be() -> None:
    with pytest.raises(UsageError, match="--since"):
        cover(Cover(disk((1, 0, 60)), log((0, 60)), NOW, since=at(70)))
    nights = Schedule("UTC", (Hours((0,), 0, 60),))
    with pytest.raises(UsageError, match="give --since"):
        cover(Cover((), nights, NOW))


def test_a_schedule_ends_now_unless_told() -> None:
    mornings = Schedule("UTC", (Hours((0, 1, 2, 3, 4, 5, 6), 0, 60),))
    made = cover(Cover(disk((1, 0, 60)), mornings, NOW))
    assert made.channels[0].expected_h == pytest.approx(3), "2, 3 and 4 March"
    told = cover(Cover(disk((1, 0, 60)), mornings, NOW, until=at(100)))
    assert told.verdict is CoverageVerdict.COMPLETE


def test_a_recording_far_from_any_drive_is_noted() -> None:
    made = cover(Cover(disk((1, 0, 60), (1, 300, 310)), log((0, 60), (600, 660)), NOW))
    [note] = made.notes
    assert note.startswith("1 of 2 recordings lie more than an hour")
    assert "first channel 1's of 2026-03-02T05:00:00Z" in note


def test_a_request_finds_spans_and_files() -> None:
    made = cover(
        Cover(
            disk((1, 0, 30), (1, 40, 60), (2, 0, 60)),
            log((0, 60)),
            NOW,
            request=Period(at(20), at(70)),
            asked=(1,),
        )
    )
    [found] = made.found
    assert found.held == (Period(at(20), at(30)), Period(at(40), at(60)))
    assert found.missing == (Period(at(30), at(40)),)
    assert found.idle == (Period(at(60), at(70)),)
    assert found.files == ("ch1-0.mp4", "ch1-1.mp4")
    assert made.verdict is CoverageVerdict.MISSING


pair = st.tuples(st.integers(0, GRID), st.integers(0, GRID)).map(
    lambda p: (float(min(p)), float(max(p)))
)


@settings(max_examples=60)
@given(
    st.lists(pair, max_size=6),
    st.lists(st.tuples(st.sampled_from((1, 2, 3)), pair), max_size=8),
    pair,
)
def test_the_same_as_counting_minutes(
    driven: list[tuple[float, float]],
    pieces: list[tuple[int, tuple[float, float]]],
    asked: tuple[float, float],
) -> None:
    placed = disk(*((ch, a, b) for ch, (a, b) in pieces))
    request = Period(at(asked[0]), at(asked[1] + 1))
    made = cover(
        Cover(placed, log(*driven), NOW, since=DAY, until=at(GRID), allow_s=0,
              channels=(1, 2, 3), request=request)
    )  # fmt: skip
    expected = minutes(log(*driven).driven)
    for channel in made.channels:
        own = minutes([Period(p.start, p.end) for p in placed if p.channel == channel.channel])
        assert minutes(channel.missing) == expected - own
        assert channel.held_h * 60 == pytest.approx(len(expected & own))
        assert channel.share == (
            pytest.approx(len(expected & own) / len(expected)) if expected else None
        )
        check_request(made, channel.channel, own, expected)
    complete = made.verdict is CoverageVerdict.COMPLETE
    assert complete == (bool(expected) and not any(c.missing for c in made.channels))


def check_request(made: Coverage, channel: int, own: set[int], expected: set[int]) -> None:
    found = next(item for item in made.found if item.channel == channel)
    assert made.request is not None
    wanted = minutes([made.request])
    assert minutes(found.held) == wanted & own
    assert minutes(found.missing) == (wanted & expected) - own
    assert minutes(found.idle) == wanted - expected - own


YEARS = 3 * 366 * 1440
"""Minutes; more than three years (Gregorian calendar, ISO 8601)."""


@pytest.mark.parametrize("side", [-1, 1])
def test_a_recording_stamped_years_off_stretches_nothing(side: int) -> None:
    """A clock that fell back, or a stamp years ahead in a log that ends later still."""
    kept = disk((1, 0, 30), (1, 30, 60), (2, 0, 60))
    off = disk((2, side * YEARS, side * YEARS + 10), (2, side * YEARS + 10, side * YEARS + 20))
    week = Schedule("UTC", (Hours(tuple(range(7)), 0, 1440),))
    made = cover(Cover((*off, *kept), week, NOW, until=at(60)))
    assert made.window == Period(at(0), at(60))
    assert [item.share for item in made.channels] == [1.0, 1.0]
    assert [item.days_kept for item in made.channels] == [pytest.approx(60 / 1440)] * 2
    assert made.verdict is CoverageVerdict.UNCLEAR, "what is set aside never counts as fine"
    [line] = made.unclear
    assert line.startswith("channel 2: 2 recordings stamped ")
    assert f"3.0 years {'before' if side < 0 else 'after'} the others" in line


def test_a_log_that_tells_of_drives_bears_old_recordings_out() -> None:
    """A vehicle that was laid up for three years, its recorder switched off."""
    pieces = disk((1, -YEARS, -YEARS + 60), (1, 0, 60))
    made = cover(Cover(pieces, log((-YEARS, -YEARS + 60), (0, 60)), NOW))
    assert made.verdict is CoverageVerdict.COMPLETE
    assert made.channels[0].held_h == 2


def test_the_log_is_believed_before_the_number_of_recordings() -> None:
    wrong = [(1, -YEARS + n, -YEARS + n + 1) for n in range(9)]
    made = cover(Cover(disk(*wrong, (1, 0, 60)), log((0, 60)), NOW))
    assert made.channels[0].share == 1.0 and made.window.start == at(0)
    assert "channel 1: 9 recordings" in made.unclear[0] and "3.0 years before" in made.unclear[0]


def test_a_channel_whose_clock_was_off_all_along_has_nothing_on_disk() -> None:
    pieces = disk((1, 0, 30), (1, 30, 60), (2, -YEARS, -YEARS + 60))
    made = cover(Cover(pieces, log((0, 60)), NOW, request=Period(at(0), at(60))))
    second = made.channels[1]
    assert (second.channel, second.share, second.oldest) == (2, 0.0, None)
    assert made.found[1].files == () and made.found[1].missing == (Period(at(0), at(60)),)
