"""A row of a menu page: ground, cursor, label, leader dots, value and its ornaments."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import ImageDraw, ImageFont

from asfound.demo.layout import (
    LAMP,
    LEVEL_BAR,
    LEVEL_GAP,
    Grid,
    Row,
    mark_width,
    steppable,
    value_start,
)
from asfound.demo.themes import Colour, Theme
from asfound.model.kinds import Level, Switch

Rect = tuple[float, float, float, float]
Spot = tuple[float, float]


@dataclass(frozen=True)
class Brush:
    """What draws: Pillow's pen, the theme, and the font of the rows."""

    pen: ImageDraw.ImageDraw
    theme: Theme
    face: ImageFont.FreeTypeFont

    @property
    def size(self) -> float:
        """Text size in pixels."""
        return float(self.face.size)

    def text(self, at: Spot, text: str, ink: Colour, anchor: str) -> None:
        """Text about the middle of a row; anchors as Pillow names them."""
        where = at if self.theme.smooth else (round(at[0]), round(at[1]))
        stroke = 1 if self.theme.outline else 0
        self.pen.text(where, text, ink, self.face, anchor, stroke_width=stroke, stroke_fill=0)


def draw_row(brush: Brush, grid: Grid, row: Row, index: int, here: bool) -> Rect:
    """Draw one row, under the cursor when ``here``; returns the box of the value's text."""
    theme, colours = brush.theme, brush.theme.palette
    y, half = grid.middle(index), grid.pitch * 0.46
    box = (grid.left * 0.6, y - half, theme.size[0] - grid.left * 0.6, y + half)
    _row_ground(brush, box, index, here)
    inked = here and theme.cursor == "bar"
    label_ink = colours.cursor_text if inked else colours.label if row.settable else colours.faded
    value_ink = colours.cursor_text if inked else colours.value if row.settable else colours.faded
    if not row.field_id:
        brush.text((theme.size[0] / 2, y), f"[ {row.label} ]", label_ink, "mm")
        return (0.0, 0.0, 0.0, 0.0)
    label = f"{row.label}:" if theme.layout == "colon" else row.label
    brush.text((grid.left, y), label, label_ink, "lm")
    label_end = grid.left + float(brush.face.getlength(label))
    x = value_start(theme, grid, row, label_end)
    if theme.layout == "dots":
        _dots(brush, (label_end, x), grid.left, y, label_ink if inked else colours.line)
    return _value(brush, row, (x, y), value_ink, here)


def _row_ground(brush: Brush, box: Rect, index: int, here: bool) -> None:
    theme, colours, pen = brush.theme, brush.theme.palette, brush.pen
    if theme.rows == "striped" and index % 2:
        pairs = zip(colours.ground, colours.line, strict=True)
        pen.rectangle(box, fill=tuple((4 * ground + line) // 5 for ground, line in pairs))
    elif theme.rows == "ruled":
        pen.line((box[0], box[3], box[2], box[3]), colours.line, 1)
    if not here:
        return
    if theme.cursor == "bar":
        pen.rectangle(box, fill=colours.cursor)
    elif theme.cursor == "frame":
        pen.rectangle(box, outline=colours.cursor, width=2)
    else:
        half, middle = (box[3] - box[1]) * 0.25, (box[1] + box[3]) / 2
        tip = (box[0] + half * 1.6, middle)
        pen.polygon([(box[0], middle - half), tip, (box[0], middle + half)], colours.cursor_text)


def _dots(brush: Brush, span: Spot, left: float, y: float, ink: Colour) -> None:
    """Leader dots from the label's end to the value, in step from row to row."""
    step, dot = brush.size * 0.5, max(1.0, brush.size * 0.07)
    base = y + brush.size * 0.3
    at = left + float(np.ceil((span[0] + step - left) / step)) * step
    while at < span[1] - brush.size * 0.6:
        brush.pen.rectangle((at - dot, base - dot, at + dot, base + dot), fill=ink)
        at += step


def _value(brush: Brush, row: Row, at: Spot, ink: Colour, here: bool) -> Rect:
    """The value with its ornaments; returns the box of its text."""
    theme, size, y = brush.theme, brush.size, at[1]
    x = at[0] + mark_width(theme, brush.face)
    length = float(brush.face.getlength(row.value))
    start = x
    if isinstance(row.kind, Switch) and theme.switch != "text":
        _lamp(brush, (x, y), row.value == row.kind.on, ink)
        x += size * LAMP
    if isinstance(row.kind, Level) and theme.level_bar == "before":
        _level(brush, (x, y), row.kind, row.value, ink)
        x += size * (LEVEL_BAR + LEVEL_GAP)
    box = (x, y - size * 0.6, x + length, y + size * 0.6)
    if steppable(row.kind) and (here or theme.marks_everywhere):
        _marks(brush, (start, box[1], box[2], box[3]), ink)
    brush.text((x, y), row.value, ink, "lm")
    if isinstance(row.kind, Level) and theme.level_bar == "after":
        _level(brush, (x + length + size * LEVEL_GAP, y), row.kind, row.value, ink)
    return box


def _marks(brush: Brush, box: Rect, ink: Colour) -> None:
    """What shows that a value can be stepped: < value >, arrows, [value] or a box."""
    marks, size, y = brush.theme.marks, brush.size, (box[1] + box[3]) / 2
    low, high = box[0] - size * 0.3, box[2] + size * 0.3
    if marks == "box":
        brush.pen.rectangle((low, y - size * 0.62, high, y + size * 0.62), outline=ink, width=1)
    elif marks == "arrows":
        for side, way in ((low, -1), (high, 1)):
            tip, half = side + way * size * 0.42, size * 0.3
            brush.pen.polygon([(side, y - half), (tip, y), (side, y + half)], ink)
    elif marks in ("angles", "brackets"):
        first, last = "<>" if marks == "angles" else "[]"
        brush.text((low, y), first, ink, "rm")
        brush.text((high, y), last, ink, "lm")


def _lamp(brush: Brush, at: Spot, lit: bool, ink: Colour) -> None:
    """A round lamp or a tick box before a switch's word."""
    size, pen = brush.size, brush.pen
    x, y, half = at[0], at[1], size * 0.34
    box = (x, y - half, x + 2 * half, y + half)
    if brush.theme.switch == "lamp":
        pen.ellipse(box, fill=brush.theme.palette.accent if lit else None, outline=ink)
        return
    pen.rectangle(box, outline=ink, width=max(1, round(size * 0.07)))
    if lit:
        knee, end = (x + half * 0.9, y + half * 0.55), (x + half * 1.65, y - half * 0.6)
        pen.line([(x + half * 0.4, y), knee, end], fill=ink, width=max(2, round(size * 0.1)))


def _level(brush: Brush, at: Spot, kind: Level, value: str, ink: Colour) -> None:
    """A bar that is full up to the level."""
    share = (int(value) - kind.minimum) / (kind.maximum - kind.minimum)
    x, y, long, half = at[0], at[1], brush.size * LEVEL_BAR, brush.size * 0.24
    colours = brush.theme.palette
    brush.pen.rectangle((x, y - half, x + long, y + half), fill=colours.line, outline=ink)
    if share > 0:
        brush.pen.rectangle((x, y - half, x + long * share, y + half), fill=colours.accent)
