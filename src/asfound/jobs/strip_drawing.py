"""The footage strip as a drawing: every line, bar and word at its place in millimetres.

jobs/footage_strip.py says where things stand along the time axis; here rows get their heights
and clips that touch are drawn as one. Templates only paint what they are given.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from asfound.jobs.footage_strip import PICTURE_MM
from asfound.jobs.report_texts import Row

PICTURE_HIGH_MM = PICTURE_MM * 9 / 16
BAR_MM = 4.2
LANE_MM = 4.1
"""Height of a line of labels at 7 pt; grows with the text."""

TOUCHING_MM = 0.05
"""Clips nearer than this are one bar: a drive of many files would be all edges."""


@dataclass(frozen=True, slots=True)
class Layout:
    """The drawing's sizes [mm]: ``label`` is the width of the names on the left; 0 puts them
    above each row, for narrow screens. ``text`` is the height of the letters."""

    strip: float
    label: float
    text: float

    @property
    def scale(self) -> float:
        """How much larger than the 7 pt (2.47 mm) of jobs/footage_strip.py labels are."""
        return self.text / 2.2


WIDE = Layout(strip=150.0, label=34.0, text=2.5)
NARROW = Layout(strip=88.0, label=0.0, text=3.1)
EDGE = 2.0


def drawing(axes: Sequence[Row], layout: Layout) -> Row:
    """{"width", "height", "axes"}: axes as jobs/footage_strip.py makes them, with heights."""
    at = EDGE
    made = []
    for axis in axes:
        drawn, at = _axis(axis, layout, at)
        made.append(drawn)
        at += 4.0
    return {
        "width": layout.strip + layout.label + 2 * EDGE,
        "height": at,
        "left": layout.label + EDGE,
        "text": layout.text,
        "strip": layout.strip,
        "bar": BAR_MM,
        "picture": (PICTURE_MM, PICTURE_HIGH_MM),
        "axes": made,
    }


def _axis(axis: Row, layout: Layout, at: float) -> tuple[Row, float]:
    title_y = at + layout.text * 1.3
    ticks_y = title_y + layout.text * 1.7
    # A label is centred on its tick; the outermost are kept inside.
    room = layout.text * 2.6
    ticks = [
        {**tick, "label_x": min(max(tick["x"], room), layout.strip - room)}
        for tick in _rows(axis["ticks"])
    ]
    at = ticks_y + layout.text * 0.8
    rows = []
    for row in _rows(axis["rows"]):
        drawn, at = _row(row, layout, at)
        rows.append(drawn)
    title = axis["title"] or "Start not known: each file from its own beginning"
    return {"title": title, "title_y": title_y, "ticks_y": ticks_y, "ticks": ticks,
            "rows": rows}, at  # fmt: skip


def _row(row: Row, layout: Layout, at: float) -> tuple[Row, float]:
    thumbs, lane = _rows(row["thumbs"]), LANE_MM * layout.text / 2.47
    name_y = at + layout.text * 1.1
    if not layout.label:
        at += layout.text * 1.7
    bar_y = at + (PICTURE_HIGH_MM + 2.6 if thumbs else 0.0)
    if layout.label:
        name_y = bar_y + 1.6
    lanes = int(str(row["lanes"]))
    end = bar_y + BAR_MM + lanes * lane + (1.0 if lanes else 0.0)
    marks = [
        {**mark, "y": bar_y + BAR_MM + 0.6 + (mark["lane"] + 0.5) * lane}
        for mark in _rows(row["marks"])
    ]
    drawn = {
        **row,
        "top": at,
        "name_y": name_y,
        "bar_y": bar_y,
        "clips": joined(_rows(row["clips"])),
        # The longest first, so that none hides another.
        "bars": sorted(marks, key=lambda mark: -mark["w"]),
        "marks": [mark for mark in marks if mark["labelled"]],
    }
    below = 2.9 if row["clock"] and layout.label else 1.6
    return drawn, max(end, name_y + layout.text * below) + 2.4


def millimetres(value: float) -> str:
    """A place in a drawing, to a hundredth."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def joined(clips: Sequence[dict[str, Any]]) -> list[dict[str, float]]:
    """Bars ({"x", "w"}) with those that touch or overlap drawn as one."""
    made: list[dict[str, float]] = []
    for clip in sorted(clips, key=lambda clip: (clip["x"], clip["w"])):
        end = clip["x"] + clip["w"]
        if made and clip["x"] <= made[-1]["x"] + made[-1]["w"] + TOUCHING_MM:
            made[-1]["w"] = max(made[-1]["w"], end - made[-1]["x"])
        else:
            made.append({"x": clip["x"], "w": clip["w"]})
    return made


def _rows(value: object) -> list[dict[str, Any]]:
    return list(value) if isinstance(value, list) else []
