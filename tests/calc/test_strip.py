"""Where things stand on the footage strip. Expected values: straight-line arithmetic by hand,
and properties that any drawing to scale must have."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.strip import (
    DAY_S,
    STEPS_S,
    Scale,
    Span,
    cover,
    marks,
    pictures_apart,
    ticks,
    windows,
)

SECONDS = st.floats(0, 1e6, allow_nan=False)
SPANS = st.lists(
    st.tuples(SECONDS, st.floats(0, 4000)).map(lambda p: Span(p[0], p[0] + p[1])),
    min_size=1, max_size=12,
)  # fmt: skip


def test_places_are_to_scale_and_stay_on_the_strip() -> None:
    scale = Scale(Span(100.0, 300.0), 50.0)
    assert [scale.x(s) for s in (100.0, 150.0, 300.0)] == [0.0, 12.5, 50.0]
    assert scale.x(0.0) == 0.0
    assert scale.x(999.0) == 50.0


def test_a_long_silence_starts_a_new_axis_and_a_short_gap_does_not() -> None:
    evening = [Span(0, 600), Span(630, 1200)]
    next_day = Span(86_400, 87_000)
    assert windows([*evening, next_day]) == ((0, 1), (2,))


def test_windows_of_nothing_are_nothing() -> None:
    assert windows([]) == ()
    assert windows([Span(5, 5)]) == ((0,),)


@given(SPANS)
def test_every_span_is_on_exactly_one_axis(spans: list[Span]) -> None:
    groups = windows(spans)
    assert sorted(index for group in groups for index in group) == list(range(len(spans)))
    ends = [cover([spans[i] for i in group]) for group in groups]
    assert all(a.end < b.start for a, b in itertools.pairwise(ends))


def test_ticks_fall_on_round_times() -> None:
    # 120 s on 142 mm: 15 s are 17.75 mm, too close for 18 mm, so every 30 s.
    made = ticks(Scale(Span(68_525.0, 68_645.0), 142.0))
    assert [tick.second for tick in made] == [68_550.0, 68_580.0, 68_610.0, 68_640.0]
    assert made[0].x == pytest.approx(25 / 120 * 142)


@given(SECONDS, st.floats(0.5, 5e6), st.floats(40, 200))
def test_ticks_are_inside_apart_and_divide_the_day(
    start: float, length: float, width: float
) -> None:
    scale = Scale(Span(start, start + length), width)
    made = ticks(scale)
    for one, two in itertools.pairwise(made):
        assert two.x - one.x >= 18.0 - 1e-6
        step = two.second - one.second
        assert DAY_S % step == 0 or step % DAY_S == 0
    # To the microsecond: smaller numbers vanish in the division.
    span = scale.span
    assert all(span.start - 1e-6 <= tick.second <= span.end + 1e-6 for tick in made)
    assert all(DAY_S % step == 0 for step in STEPS_S)


def test_no_ticks_without_length() -> None:
    assert ticks(Scale(Span(3.0, 3.0), 100.0)) == ()


@given(SPANS, st.data())
def test_labels_never_cover_each_other_and_stay_on_the_strip(
    spans: list[Span], data: st.DataObject
) -> None:
    widths = data.draw(
        st.lists(st.floats(5, 60), min_size=len(spans), max_size=len(spans)), "widths"
    )
    scale = Scale(cover(spans), 142.0)
    made = marks(spans, widths, scale)
    assert len(made) == len(spans)
    for mark, width, span in zip(made, widths, spans, strict=True):
        assert 0 <= mark.label_x <= 142.0 - width + 1e-9
        assert mark.x1 - mark.x0 >= 0.8 - 1e-9
        assert mark.x0 <= scale.x(span.start) + 1e-9
        assert mark.x0 >= 0 and mark.x1 <= 142.0 + 1e-9
    for i, a in enumerate(made):
        for j in range(i):
            b = made[j]
            if a.lane == b.lane:
                apart = a.label_x >= b.label_x + widths[j] or b.label_x >= a.label_x + widths[i]
                assert apart


def test_two_findings_side_by_side_share_a_lane() -> None:
    made = marks([Span(0, 5), Span(50, 55)], [30.0, 30.0], Scale(Span(0, 100), 142.0))
    assert [mark.lane for mark in made] == [0, 0]
    made = marks([Span(0, 5), Span(10, 15)], [30.0, 30.0], Scale(Span(0, 100), 142.0))
    assert [mark.lane for mark in made] == [0, 1]


@given(st.lists(st.floats(0, 100), max_size=20))
def test_pictures_do_not_overlap(moments: list[float]) -> None:
    made = pictures_apart(moments, Scale(Span(0, 100), 142.0), 22.0)
    assert len(made) <= 6
    assert bool(made) == bool(moments)
    lefts = [left for _, left in made]
    assert all(b - a >= 22.0 - 1e-9 for a, b in itertools.pairwise(lefts))
    assert all(0 <= left <= 120.0 for left in lefts)


def test_no_picture_where_there_is_no_room() -> None:
    assert pictures_apart([1.0], Scale(Span(0, 2), 10.0), 22.0) == ()
