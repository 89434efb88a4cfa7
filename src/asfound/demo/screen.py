"""The recorder's video output: one menu page drawn as its on-screen menu draws it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from asfound.demo.composite import soften
from asfound.demo.fonts import font
from asfound.demo.layout import SMALLEST_PX, Row, bar_height, edge, lay_out, margin
from asfound.demo.light import Pixels
from asfound.demo.row_art import Brush, Rect, draw_row
from asfound.demo.themes import Theme
from asfound.model.kinds import ReadOnly
from asfound.model.menu_map import MenuMap, Page
from asfound.model.values import shown


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
    text_px: float
    rows: tuple[DrawnRow, ...]


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
    grid = lay_out(theme, rows)
    brush = Brush(pen, theme, grid.text)
    boxes = [draw_row(brush, grid, row, index, index == cursor) for index, row in enumerate(rows)]
    pixels = np.asarray(image, dtype=np.uint8)
    if theme.composite is not None:
        pixels = soften(pixels, theme.composite)
    drawn = tuple(
        DrawnRow(row.field_id, row.label, row.value, box)
        for row, box in zip(rows, boxes, strict=True)
        if row.field_id
    )
    return DrawnPage(pixels, heading, float(grid.text.size), drawn)


def _rows(
    menu_map: MenuMap, page: Page, values: Mapping[str, str], firmware: str
) -> tuple[Row, ...]:
    rows = []
    for field in menu_map.page_fields(page, firmware):
        text = shown(field.type, values[field.id])
        settable = not isinstance(field.type, ReadOnly)
        rows.append(Row(field.id, field.label, text, field.type, settable))
    if menu_map.keys.save == "row":
        rows.append(Row("", menu_map.keys.save_label, "", None, True))
    return tuple(rows)


def _ground(theme: Theme) -> Pixels:
    width, height = theme.size
    ramp = np.linspace(0.0, 1.0, height)[:, None, None]
    high = np.array(theme.palette.ground, dtype=float)
    low = np.array(theme.palette.ground_low, dtype=float)
    lines = high * (1 - ramp) + low * ramp
    return np.ascontiguousarray(np.broadcast_to(lines, (height, width, 3))).astype(np.uint8)


def _heading(
    pen: ImageDraw.ImageDraw, theme: Theme, menu_map: MenuMap, page: Page, firmware: str
) -> str:
    """The title with the page number; returns the heading text."""
    pages = [item for item in menu_map.pages if menu_map.page_fields(item, firmware)]
    template = theme.heading if page.group else "{title}"
    heading = template.format(group=page.group or "", title=page.title)
    counter = theme.counter.format(n=pages.index(page) + 1, total=len(pages))
    width, colours = theme.size[0], theme.palette
    side, bar = margin(theme), bar_height(theme)
    middle = edge(theme) + bar / 2
    face = font(theme.title_font, round(theme.text_px * 1.08))
    heading_width = pen.textlength(heading, face)
    if theme.title == "bar":
        pen.rectangle((0, 0, width, middle + bar / 2), fill=colours.bar)
    elif theme.title == "tab":
        pen.line((side, middle + bar / 2, width - side, middle + bar / 2), colours.line, 2)
        tab = (side, middle - bar / 2, side + heading_width + bar, middle + bar / 2)
        pen.rectangle(tab, outline=colours.line, width=2)
    x = {"bar": side, "tab": side + bar / 2, "centred": (width - heading_width) / 2}
    pen.text((x[theme.title], middle), heading, colours.bar_text, face, anchor="lm")
    at = (width - side, middle)
    pen.text(at, counter, colours.bar_text, font(theme.font, theme.text_px), anchor="rm")
    return heading


def _status(pen: ImageDraw.ImageDraw, theme: Theme, clock: str | None, name: str) -> None:
    """The thin line with the recorder's name and its clock, under the title or at the foot."""
    face = font(theme.font, max(SMALLEST_PX, round(theme.text_px * 0.72)))
    (width, height), side = theme.size, margin(theme)
    if theme.status == "bottom":
        y = height * 0.965 - face.size / 2
        pen.line((side, y - face.size, width - side, y - face.size), theme.palette.line, 1)
    else:
        y = edge(theme) + bar_height(theme) + face.size * 0.85
    pen.text((side, y), name, theme.palette.faded, face, anchor="lm")
    if clock is not None:
        pen.text((width - side, y), clock, theme.palette.faded, face, anchor="rm")
