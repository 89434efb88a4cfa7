"""The offset's bounds hold the truth whenever the truth made the photographs. Zone rules are the
IANA tz database's, through the standard library's zoneinfo."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.clock_offset import LAG_S, Against, ClockShot, clock_offset, offset_text
from asfound.model.clock import ClockOffset

MADRID = ZoneInfo("Europe/Madrid")
JULY = datetime(2026, 7, 1, 8, 0, tzinfo=UTC)
JANUARY = datetime(2026, 1, 15, 8, 0, tzinfo=UTC)


def truncated(moment: datetime, step_s: float) -> datetime:
    """``moment`` as something shows it that counts in steps of so many seconds."""
    step = timedelta(seconds=step_s)
    return datetime.min + (moment.replace(tzinfo=None) - datetime.min) // step * step


def photographed(
    true: datetime, offset_s: float, shown_step_s: float = 1.0, zone: ZoneInfo = MADRID,
    phone_error_s: float = 0.0, phone_step_s: float = 1.0, lag_s: float = 0.0,
) -> ClockShot:  # fmt: skip
    """What a phone that is off by ``phone_error_s`` records of a recorder that is off."""
    local = true.astimezone(zone).replace(tzinfo=None)
    shown = truncated(local + timedelta(seconds=offset_s - lag_s), shown_step_s)
    phone = timezone(timedelta(hours=-3))
    taken = (true + timedelta(seconds=phone_error_s)).astimezone(phone)
    return ClockShot(
        shown, shown_step_s, truncated(taken, phone_step_s).replace(tzinfo=phone), phone_step_s
    )


moments = st.datetimes(datetime(2020, 1, 1), datetime(2036, 1, 1)).map(
    lambda moment: moment.replace(tzinfo=UTC)
)
zones = st.sampled_from(
    ["Europe/Madrid", "UTC", "Asia/Kolkata", "America/St_Johns", "Australia/Lord_Howe"]
).map(ZoneInfo)


@given(
    st.lists(st.tuples(moments, st.sampled_from([1.0, 60.0])), min_size=1, max_size=6),
    zones,
    st.floats(-1e6, 1e6),
    st.floats(-3.0, 3.0),
    st.sampled_from([1.0, 0.1, 0.001]),
    st.floats(0.0, LAG_S),
)
def test_the_truth_lies_within_the_bounds(
    seen: list[tuple[datetime, float]],
    zone: ZoneInfo,
    offset_s: float,
    phone_error_s: float,
    phone_step_s: float,
    lag_s: float,
) -> None:
    shots = [
        photographed(true, offset_s, step, zone, phone_error_s, phone_step_s, lag_s)
        for true, step in seen
    ]
    found = clock_offset(shots, Against(zone, str(zone)), abs(phone_error_s))
    assert found is not None and not found.contradictory
    assert found.low_s - 1e-3 <= offset_s <= found.high_s + 1e-3
    finest = min(step for _, step in seen)
    assert found.within_s <= (finest + phone_step_s + LAG_S) / 2 + abs(phone_error_s) + 1e-3
    # One more photograph never makes it less certain.
    first = clock_offset(shots[:1], Against(zone, str(zone)), abs(phone_error_s))
    assert first is not None and found.within_s <= first.within_s


@given(
    st.lists(st.floats(-5000, 5000), min_size=2, max_size=5),
    st.floats(0, 5),
)
def test_what_contradicts_spans_all(offsets: list[float], phone_error_s: float) -> None:
    shots = [
        photographed(JULY + timedelta(seconds=20.5 * n), offset) for n, offset in enumerate(offsets)
    ]
    found = clock_offset(shots, Against(MADRID, "Madrid"), phone_error_s)
    assert found is not None
    if max(offsets) - min(offsets) > 2 * (2 + LAG_S):
        assert found.contradictory
    if found.contradictory:
        assert found.low_s <= min(offsets) + 1e-3 and max(offsets) - 1e-3 <= found.high_s
        assert any("contradict" in note for note in found.notes)


@given(moments, st.floats(-40_000, 40_000))
def test_a_time_without_a_day_is_taken_for_the_nearest(true: datetime, offset_s: float) -> None:
    whole = photographed(true, offset_s, zone=ZoneInfo("UTC"))
    assert isinstance(whole.shown, datetime)
    shot = ClockShot(whole.shown.time(), 1.0, whole.taken)
    found = clock_offset([shot], Against(UTC, "UTC"), 0.0)
    assert found is not None
    assert found.low_s - 1e-3 <= offset_s <= found.high_s + 1e-3
    assert any("day was not read" in note for note in found.notes)


def test_without_an_offset_tag_only_what_the_phone_shows_is_known() -> None:
    shown = datetime(2026, 7, 1, 10, 0, 41)
    naive = ClockShot(shown, 1.0, datetime(2026, 7, 1, 10, 0, 0))
    found = clock_offset([naive], Against(MADRID, "Europe/Madrid"), 0.0)
    assert found is not None and not found.zone_sure
    assert (found.low_s, found.high_s) == (40.0, 42.0 + LAG_S)
    assert found.zone == "the phone's own local time"
    # One photograph that says the phone's zone counts for more than any that does not.
    aware = ClockShot(shown, 1.0, datetime(2026, 7, 1, 8, 0, tzinfo=UTC))
    both = clock_offset([naive, aware, naive], Against(MADRID, "Europe/Madrid"), 0.0)
    assert both is not None and both.zone_sure and both.photos == 1
    assert any("2 more" in note for note in both.notes)


def test_no_photographs_no_offset() -> None:
    assert clock_offset([], Against()) is None


@pytest.mark.parametrize(
    ("true", "hours", "setting_h", "hint"),
    [
        (JULY, -1, None, "exactly 1 h slow: daylight saving not set?"),
        (JULY, -1, 1, "exactly 1 h slow: that is how far the recorder's own zone setting"),
        (JANUARY, 1, None, "exactly 1 h fast: daylight saving on, or left on?"),
        (JANUARY, 1, 2, "exactly 1 h fast: that is how far the recorder's own zone setting"),
        (JULY, 5, None, "exactly 5 h fast: set to another time zone?"),
        (JANUARY, -1, None, "exactly 1 h slow: set to another time zone?"),
        (JULY, 0, None, ""),
    ],
)
def test_whole_hours_are_named_and_never_corrected(
    true: datetime, hours: int, setting_h: int | None, hint: str
) -> None:
    # Madrid is UTC+1, in summer UTC+2 (IANA tz database, Europe/Madrid).
    setting = None if setting_h is None else setting_h * 3600.0
    shots = [photographed(true, hours * 3600.0)]
    found = clock_offset(shots, Against(MADRID, "Madrid", setting))
    assert found is not None and found.hint.startswith(hint) and bool(found.hint) == bool(hint)
    assert found.low_s <= hours * 3600 <= found.high_s
    drifted = clock_offset([photographed(true, hours * 3600.0 + 192)], Against(MADRID, "", setting))
    assert drifted is not None
    assert drifted.hint.startswith(f"{abs(hours)} h of it: " if hours else "")
    assert drifted.low_s <= hours * 3600 + 192 <= drifted.high_s


@pytest.mark.parametrize(
    ("low", "high", "photos", "words"),
    [
        (-194.2, -189.8, 2, "3 min 12 s slow (± 3 s), from 2 photographs"),
        (40.0, 42.0, 1, "41 s fast (± 1 s), from 1 photograph"),
        (-1.0, 1.2, 1, "right to within 2 s, from 1 photograph"),
        (86_400.0, 86_402.0, 1, "1 d 1 s fast (± 1 s), from 1 photograph"),
        (30.0, 92.2, 1, "1 min 1 s fast (± 32 s), from 1 photograph"),
    ],
)
def test_in_words(low: float, high: float, photos: int, words: str) -> None:
    assert offset_text(ClockOffset(low, high, photos, "Madrid")) == words


@given(st.floats(-1e5, 1e5), st.floats(0, 100))
def test_rounded_words_still_hold_the_bounds(low: float, width: float) -> None:
    text = offset_text(ClockOffset(low, low + width, 1, "Madrid"))
    units = {"d": 86_400, "h": 3600, "min": 60, "s": 1}

    def seconds(words: str) -> int:
        parts = words.split()
        return sum(int(n) * units[u] for n, u in zip(parts[::2], parts[1::2], strict=False))

    if text.startswith("right"):
        within = seconds(text.split("within ")[1].split(",")[0])
        assert -within - 1e-5 <= low and low + width <= within + 1e-5
    else:
        middle, within = (seconds(part) for part in text.split(")")[0].split("(± "))
        middle = -middle if " slow" in text else middle
        assert middle - within - 1e-5 <= low and low + width <= middle + within + 1e-5


def test_a_time_alone_may_be_given() -> None:
    shot = ClockShot(time(0, 1), 60.0, datetime(2026, 7, 1, 23, 59, 30, tzinfo=UTC))
    found = clock_offset([shot], Against(UTC, "UTC"), 0.0)
    assert found is not None and 89.0 <= found.low_s <= found.high_s <= 150.5
