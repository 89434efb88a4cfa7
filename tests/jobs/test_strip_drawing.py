"""The strip's drawing: nothing overlaps what it must not, everything stays inside."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.jobs.strip_drawing import BAR_MM, NARROW, WIDE, Layout, drawing, joined


def row(clips: list[tuple[float, float]], lanes: int, thumbs: int = 0) -> dict[str, Any]:
    marks = [
        {"x": 1.0, "w": 2.0 + lane, "label_x": 1.0, "lane": lane, "n": lane + 1,
         "shape": "square", "word": "black picture", "labelled": True}
        for lane in range(lanes)
    ]  # fmt: skip
    return {
        "channel": "1", "name": "Road", "clock": "", "lanes": lanes, "marks": marks,
        "clips": [{"x": x, "w": w} for x, w in clips],
        "thumbs": [{"x": 0.0, "at": 1.0, "shot": {"file": "", "problem": "none"}}] * thumbs,
    }  # fmt: skip


def axis(*rows: dict[str, Any]) -> dict[str, Any]:
    ticks = [{"x": 0.0, "label": "08:00"}, {"x": 80.0, "label": "09:00"}]
    return {"title": "1 March", "ticks": ticks, "rows": list(rows), "width": 88.0}


@pytest.mark.parametrize("layout", [WIDE, NARROW])
def test_rows_stand_below_each_other_and_inside(layout: Layout) -> None:
    made: Any = drawing([axis(row([(0, 40)], 3, 1), row([(0, 40)], 0)), axis(row([(5, 9)], 1))],
                        layout)  # fmt: skip
    reached = 0.0
    for part in made["axes"]:
        assert reached < part["title_y"] < part["ticks_y"]
        reached = part["ticks_y"]
        for item in part["rows"]:
            assert item["top"] >= reached
            assert item["bar_y"] >= item["top"]
            ends = [mark["y"] for mark in item["marks"]]
            assert ends == sorted(ends) and all(y > item["bar_y"] + BAR_MM for y in ends)
            reached = max([item["bar_y"] + BAR_MM, *ends])
    assert reached < made["height"]


def test_a_word_about_the_clock_has_its_line() -> None:
    """Names stand in lines of the text's height, one below the other."""
    told = row([(0, 40)], 0) | {"clock": "clock within 3 s"}
    made: Any = drawing([axis(told, row([(0, 40)], 0))], WIDE)
    first, second = made["axes"][0]["rows"]
    assert second["top"] >= first["name_y"] + 2.6 * WIDE.text
    bare: Any = drawing([axis(row([(0, 40)], 0), row([(0, 40)], 0))], WIDE)
    assert bare["axes"][0]["rows"][1]["top"] < second["top"]


def test_labels_of_ticks_are_kept_inside() -> None:
    made: Any = drawing([axis(row([], 0))], NARROW)
    places = [tick["label_x"] for tick in made["axes"][0]["ticks"]]
    half = 2.6 * NARROW.text
    assert all(half <= place <= NARROW.strip - half for place in places)


def test_the_longest_bar_is_painted_first() -> None:
    made: Any = drawing([axis(row([], 3))], WIDE)
    widths = [bar["w"] for bar in made["axes"][0]["rows"][0]["bars"]]
    assert widths == sorted(widths, reverse=True)


spans = st.lists(st.tuples(st.integers(0, 400), st.integers(1, 60)), max_size=12)


@given(spans)
def test_joined_bars_paint_the_same_tenths(some: list[tuple[int, int]]) -> None:
    """Checked tenth by tenth of a millimetre."""
    clips = [{"x": x / 10, "w": w / 10} for x, w in some]
    made = joined(clips)
    before = {n for x, w in some for n in range(x, x + w)}
    after = {
        n for bar in made for n in range(round(bar["x"] * 10), round((bar["x"] + bar["w"]) * 10))
    }
    assert after == before
    assert len(made) <= len(clips)


def test_a_drive_of_many_files_is_one_bar() -> None:
    assert len(joined([{"x": n * 0.1, "w": 0.1} for n in range(1000)])) == 1
