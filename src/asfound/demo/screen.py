"""The recorder's video output: one menu page drawn as its on-screen menu draws it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from asfound.demo.composite import soften
from asfound.demo.fonts import font
from asfound.demo.themes import Colour, Theme
from asfound.model.kinds import Choice, FieldType, Level, Number, ReadOnly, Switch
from asfound.model.menu_map import Field, MenuMap, Page
from asfound.model.values import shown

Pixels = NDArray[np.uint8]
Rect = tuple[float, float, float, float]

_SMALLEST_PX = 12


@dataclass(frozen=True, slots=True)
class DrawnRow:
    """A row as it was drawn: texts, and where the value's text stands (x0, y0, x1, y1)."""

    field_id: str
    label: str
    value: str
    value_box: Rect


@dataclass(frozen=True, slots=True)
class DrawnPage:
    """A drawn page: pixels (H, W, 3) RGB and what stands on it, top to bottom."""

    pixels: Pixels
    heading: str
    rows: tuple[DrawnRow, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    field_id: str
    label: str
    value: str
    kind: FieldType | None
    settable: bool


@dataclass(frozen=True, slots=True)
class _Grid:
    """Where things stand on the page, in pixels."""

    text: ImageFont.FreeTypeFont
    left: float
    right: float
    top: float
    pitch: float
    column: float


def render_page(
    menu_map: MenuMap,
    page: Page,
    values: Mapping[str, str],
    firmware: str,
    theme: Theme,
    cursor: int | None = None,
    clock_text: str | None = None,
) -> Pixels:
    """Pixels (H, W, 3) RGB of ``page``; see ``draw_page``."""
    return draw_page(menu_map, page, values, firmware, theme, cursor, clock_text).pixels


def draw_page(
    menu_map: MenuMap,
    page: Page,
    values: Mapping[str, str],
    firmware: str,
    theme: Theme,
    cursor: int | None = None,
    clock_text: str | None = None,
) -> DrawnPage:
    """Draw ``page`` with canonical ``values``. The same arguments give the same pixels.

    ``cursor`` is the row under the cursor (the save row comes after the fields), None for no
    cursor; ``clock_text`` stands in the status line. Raises KeyError when a field of the page
    has no value, MissingPart when the theme's font is not installed.
    """
    rows = _rows(menu_map, page, values, firmware)
    image = Image.fromarray(_ground(theme))
    pen = ImageDraw.Draw(image)
    pen.fontmode = "L" if theme.smooth else "1"
    heading = _heading(pen, theme, menu_map, page, firmware)
    _status(pen, theme, clock_text, f"{menu_map.maker} {menu_map.model}")
    grid = _grid(theme, rows)
    drawn = tuple(
        _row(pen, theme, grid, row, index, index == cursor) for index, row in enumerate(rows)
    )
    pixels = np.asarray(image, dtype=np.uint8)
    if theme.composite is not None:
        pixels = soften(pixels, theme.composite)
    return DrawnPage(pixels, heading, tuple(row for row in drawn if row.field_id))


def _rows(
    menu_map: MenuMap, page: Page, values: Mapping[str, str], firmware: str
) -> tuple[_Row, ...]:
    rows = [_field_row(field, values) for field in menu_map.page_fields(page, firmware)]
    if menu_map.keys.save == "row":
        rows.append(_Row("", menu_map.keys.save_label, "", None, True))
    return tuple(rows)


def _field_row(field: Field, values: Mapping[str, str]) -> _Row:
    value = values[field.id]
    return _Row(
        field.id,
        field.label,
        shown(field.type, value),
        field.type,
        not isinstance(field.type, ReadOnly),
    )


def _ground(theme: Theme) -> Pixels:
    width, height = theme.size
    ramp = np.linspace(0.0, 1.0, height)[:, None, None]
    high, low = (
        np.array(colour, dtype=float) for colour in (theme.palette.ground, theme.palette.ground_low)
    )
    lines = high * (1 - ramp) + low * ramp
    return np.ascontiguousarray(np.broadcast_to(lines, (height, width, 3))).astype(np.uint8)


def _bar_height(theme: Theme) -> float:
    return theme.text_px * 1.75


def _heading(
    pen: ImageDraw.ImageDraw, theme: Theme, menu_map: MenuMap, page: Page, firmware: str
) -> str:
    """The title bar with the page number; returns the heading text."""
    shown_pages = [item for item in menu_map.pages if menu_map.page_fields(item, firmware)]
    number, total = shown_pages.index(page) + 1, len(shown_pages)
    template = theme.heading if page.group else "{title}"
    heading = template.format(group=page.group or "", title=page.title)
    counter = theme.counter.format(n=number, total=total)
    width, colours = theme.size[0], theme.palette
    margin, bar = width * 0.045, _bar_height(theme)
    face = font(theme.title_font, round(theme.text_px * 1.08))
    middle = theme.size[1] * 0.03 + bar / 2
    heading_width = pen.textlength(heading, face)
    if theme.title == "bar":
        pen.rectangle((0, 0, width, middle + bar / 2), fill=colours.bar)
    elif theme.title == "tab":
        pen.line((margin, middle + bar / 2, width - margin, middle + bar / 2), colours.line, 2)
        tab = (margin, middle - bar / 2, margin + heading_width + bar, middle + bar / 2)
        pen.rectangle(tab, outline=colours.line, width=2)
    x = {"bar": margin, "tab": margin + bar / 2, "centred": (width - heading_width) / 2}
    pen.text((x[theme.title], middle), heading, colours.bar_text, face, anchor="lm")
    at = (width - margin, middle)
    pen.text(at, counter, colours.bar_text, font(theme.font, theme.text_px), anchor="rm")
    return heading


def _status(pen: ImageDraw.ImageDraw, theme: Theme, clock: str | None, name: str) -> None:
    """The thin line with the recorder's name and its clock, under the title or at the foot."""
    face = font(theme.font, max(_SMALLEST_PX, round(theme.text_px * 0.72)))
    width, height = theme.size
    margin = width * 0.045
    if theme.status == "bottom":
        y = height * 0.965 - face.size / 2
        pen.line((margin, y - face.size, width - margin, y - face.size), theme.palette.line, 1)
    else:
        y = height * 0.03 + _bar_height(theme) + face.size * 0.85
    pen.text((margin, y), name, theme.palette.faded, face, anchor="lm")
    if clock is not None:
        pen.text((width - margin, y), clock, theme.palette.faded, face, anchor="rm")


def _grid(theme: Theme, rows: tuple[_Row, ...]) -> _Grid:
    """The largest text, up to the theme's size, with which every row fits."""
    width, height = theme.size
    foot = theme.text_px * 0.72 * 2.1
    top = height * 0.03 + _bar_height(theme) + theme.text_px * 0.35
    bottom = height * 0.985
    if theme.status == "top":
        top += foot * 0.75
    else:
        bottom -= foot
    pitch = min((bottom - top) / len(rows), theme.text_px * 1.75)
    left, right = width * 0.06, width * 0.94
    px = min(theme.text_px, int(pitch / 1.22))
    while True:
        face = font(theme.font, px)
        column = _column(theme, rows, face, left, right)
        if column is not None or px <= _SMALLEST_PX:
            break
        px -= 1
    return _Grid(face, left, right, top, pitch, left + width * 0.4 if column is None else column)


def _column(
    theme: Theme,
    rows: tuple[_Row, ...],
    face: ImageFont.FreeTypeFont,
    left: float,
    right: float,
) -> float | None:
    """Where values start; None when some row does not fit."""
    pad = _mark_width(theme, face) * 2 + face.size * 3.2
    labels = [face.getlength(row.label) for row in rows if row.field_id]
    values = [_value_width(theme, face, row) for row in rows if row.field_id]
    column = max(theme.size[0] * theme.column, left + max(labels) + face.size)
    if theme.layout == "column":
        column = min(column, right - max(values) - pad / 2)
        return column if column >= left + max(labels) + face.size * 0.6 else None
    widest = max(label + value for label, value in zip(labels, values, strict=True))
    return column if left + widest + pad <= right else None


def _value_width(theme: Theme, face: ImageFont.FreeTypeFont, row: _Row) -> float:
    bar = face.size * 6 if isinstance(row.kind, Level) and theme.level_bar != "none" else 0.0
    lamp = face.size * 1.3 if isinstance(row.kind, Switch) and theme.switch != "text" else 0.0
    return float(face.getlength(row.value)) + bar + lamp


def _mark_width(theme: Theme, face: ImageFont.FreeTypeFont) -> float:
    return 0.0 if theme.marks == "none" else face.size * 0.95


def _row(
    pen: ImageDraw.ImageDraw, theme: Theme, grid: _Grid, row: _Row, index: int, here: bool
) -> DrawnRow:
    colours, face = theme.palette, grid.text
    y = grid.top + grid.pitch * (index + 0.5)
    box = (grid.left * 0.6, y - grid.pitch * 0.46, theme.size[0] - grid.left * 0.6,
           y + grid.pitch * 0.46)  # fmt: skip
    _row_ground(pen, theme, box, index, here)
    inked = here and theme.cursor == "bar"
    label_ink = colours.cursor_text if inked else colours.label if row.settable else colours.faded
    value_ink = colours.cursor_text if inked else colours.value if row.settable else colours.faded
    if not row.field_id:
        _text(pen, theme, (theme.size[0] / 2, y), f"[ {row.label} ]", label_ink, face, "mm")
        return DrawnRow("", row.label, "", (0.0, 0.0, 0.0, 0.0))
    label = f"{row.label}:" if theme.layout == "colon" else row.label
    _text(pen, theme, (grid.left, y), label, label_ink, face, "lm")
    label_end = grid.left + face.getlength(label)
    x = _value_start(theme, grid, row, label_end)
    if theme.layout == "dots":
        _dots(pen, grid, colours.line if not inked else label_ink, label_end, x, y)
    value_box = _value(pen, theme, face, row, (x, y), value_ink, here)
    return DrawnRow(row.field_id, row.label, row.value, value_box)


def _row_ground(pen: ImageDraw.ImageDraw, theme: Theme, box: Rect, index: int, here: bool) -> None:
    colours = theme.palette
    if theme.rows == "striped" and index % 2:
        tint = tuple(
            (4 * ground + line) // 5
            for ground, line in zip(colours.ground, colours.line, strict=True)
        )
        pen.rectangle(box, fill=tint)
    elif theme.rows == "ruled":
        pen.line((box[0], box[3], box[2], box[3]), colours.line, 1)
    if not here:
        return
    if theme.cursor == "bar":
        pen.rectangle(box, fill=colours.cursor)
    elif theme.cursor == "frame":
        pen.rectangle(box, outline=colours.cursor, width=2)
    else:
        half = (box[3] - box[1]) * 0.25
        middle, tip = (box[1] + box[3]) / 2, box[0] + half * 1.6
        pen.polygon(
            [(box[0], middle - half), (tip, middle), (box[0], middle + half)], colours.cursor_text
        )


def _value_start(theme: Theme, grid: _Grid, row: _Row, label_end: float) -> float:
    """Left edge of the value, marks and bars included."""
    mark = _mark_width(theme, grid.text)
    if theme.layout == "column":
        return grid.column
    if theme.layout == "colon":
        return label_end + grid.text.size * 0.7
    return grid.right - _value_width(theme, grid.text, row) - 2 * mark


def _markable(kind: FieldType | None) -> bool:
    return isinstance(kind, Choice | Switch | Number)


def _dots(
    pen: ImageDraw.ImageDraw, grid: _Grid, ink: Colour, start: float, end: float, y: float
) -> None:
    size = grid.text.size
    base = y + size * 0.3
    dot = max(1.0, size * 0.07)
    at = grid.left + np.ceil((start + size * 0.5 - grid.left) / (size * 0.5)) * size * 0.5
    while at < end - size * 0.6:
        pen.rectangle((at - dot, base - dot, at + dot, base + dot), fill=ink)
        at += size * 0.5


def _value(
    pen: ImageDraw.ImageDraw,
    theme: Theme,
    face: ImageFont.FreeTypeFont,
    row: _Row,
    at: tuple[float, float],
    ink: Colour,
    here: bool,
) -> Rect:
    """The value with its ornaments; returns the box of its text."""
    x, y = at
    size = float(face.size)
    length = float(face.getlength(row.value))
    marked = _markable(row.kind) and (here or theme.marks_everywhere)
    x += _mark_width(theme, face)
    if isinstance(row.kind, Switch) and theme.switch != "text":
        _lamp(pen, theme, (x, y), size, row.value == row.kind.on, ink)
        x += size * 1.3
    if isinstance(row.kind, Level) and theme.level_bar == "before":
        _level(pen, theme, (x, y), size, row, ink)
        x += size * 6
    box = (x, y - size * 0.6, x + length, y + size * 0.6)
    if marked:
        _marks(pen, theme, face, box, ink)
    _text(pen, theme, (x, y), row.value, ink, face, "lm")
    if isinstance(row.kind, Level) and theme.level_bar == "after":
        _level(pen, theme, (x + size * 2.2, y), size, row, ink)
    return box


def _marks(
    pen: ImageDraw.ImageDraw,
    theme: Theme,
    face: ImageFont.FreeTypeFont,
    box: Rect,
    ink: Colour,
) -> None:
    """What shows that a value can be stepped: < value >, arrows, [value] or a box."""
    size, y = face.size, (box[1] + box[3]) / 2
    low, high = box[0] - size * 0.3, box[2] + size * 0.3
    if theme.marks == "box":
        pen.rectangle((low, y - size * 0.62, high, y + size * 0.62), outline=ink, width=1)
    elif theme.marks == "arrows":
        for edge, way in ((low, -1), (high, 1)):
            tip, half = edge + way * size * 0.42, size * 0.3
            pen.polygon([(edge, y - half), (tip, y), (edge, y + half)], ink)
    elif theme.marks in ("angles", "brackets"):
        first, last = "<>" if theme.marks == "angles" else "[]"
        _text(pen, theme, (low, y), first, ink, face, "rm")
        _text(pen, theme, (high, y), last, ink, face, "lm")


def _lamp(
    pen: ImageDraw.ImageDraw,
    theme: Theme,
    at: tuple[float, float],
    size: float,
    lit: bool,
    ink: Colour,
) -> None:
    """A round lamp or a tick box before a switch's word."""
    x, y, half = at[0], at[1], size * 0.34
    box = (x, y - half, x + 2 * half, y + half)
    if theme.switch == "lamp":
        pen.ellipse(box, fill=theme.palette.accent if lit else None, outline=ink)
        return
    pen.rectangle(box, outline=ink, width=max(1, round(size * 0.07)))
    if lit:
        stroke = [(x + half * 0.4, y), (x + half * 0.9, y + half * 0.55),
                  (x + half * 1.65, y - half * 0.6)]  # fmt: skip
        pen.line(stroke, fill=ink, width=max(2, round(size * 0.1)))


def _level(
    pen: ImageDraw.ImageDraw,
    theme: Theme,
    at: tuple[float, float],
    size: float,
    row: _Row,
    ink: Colour,
) -> None:
    """A bar that is full up to the level."""
    if not isinstance(row.kind, Level):
        return
    share = (int(row.value) - row.kind.minimum) / (row.kind.maximum - row.kind.minimum)
    x, y, long, half = at[0], at[1], size * 5.2, size * 0.24
    pen.rectangle((x, y - half, x + long, y + half), fill=theme.palette.line, outline=ink)
    if share > 0:
        pen.rectangle((x, y - half, x + long * share, y + half), fill=theme.palette.accent)


def _text(
    pen: ImageDraw.ImageDraw,
    theme: Theme,
    at: tuple[float, float],
    text: str,
    ink: Colour,
    face: ImageFont.FreeTypeFont,
    anchor: str,
) -> None:
    """Text about the middle of a row; anchors as Pillow names them."""
    where = at if theme.smooth else (round(at[0]), round(at[1]))
    if theme.outline:
        pen.text(where, text, ink, face, anchor, stroke_width=1, stroke_fill=(0, 0, 0))
    else:
        pen.text(where, text, ink, face, anchor)
