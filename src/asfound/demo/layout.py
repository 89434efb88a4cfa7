"""Where things stand on a drawn page: text size, rows and the start of each value."""

from __future__ import annotations

from dataclasses import dataclass

from PIL import ImageFont

from asfound.demo.fonts import font
from asfound.demo.themes import Theme
from asfound.model.kinds import Choice, FieldType, Level, Number, Switch

SMALLEST_PX = 12

# Widths and heights, in text sizes unless said otherwise.
LAMP = 1.3
LEVEL_GAP = 0.8
LEVEL_BAR = 5.2
_MARK = 0.95
_PITCH = 1.22
_WIDEST_PITCH = 1.75


@dataclass(frozen=True, slots=True)
class Row:
    """A row to draw; the save row has no ``field_id`` and no ``kind``."""

    field_id: str
    label: str
    value: str
    kind: FieldType | None
    settable: bool


@dataclass(frozen=True, slots=True)
class Grid:
    """Where rows stand, in pixels: row n is ``pitch`` high about ``middle(n)``."""

    text: ImageFont.FreeTypeFont
    left: float
    right: float
    top: float
    pitch: float
    column: float

    def middle(self, index: int) -> float:
        """Height of a row's middle line."""
        return self.top + self.pitch * (index + 0.5)


def bar_height(theme: Theme) -> float:
    """Height of the title, in pixels."""
    return theme.text_px * 1.75


def edge(theme: Theme) -> float:
    """Height of the margin above the title, in pixels."""
    return theme.size[1] * 0.03


def margin(theme: Theme) -> float:
    """Width of the margin left and right of title and status line, in pixels."""
    return theme.size[0] * 0.045


def steppable(kind: FieldType | None) -> bool:
    """True for values that plus and minus step through, which marks may show."""
    return isinstance(kind, Choice | Switch | Number)


def mark_width(theme: Theme, face: ImageFont.FreeTypeFont) -> float:
    """Room for the mark at one side of a value, in pixels."""
    return 0.0 if theme.marks == "none" else face.size * _MARK


def value_width(theme: Theme, face: ImageFont.FreeTypeFont, row: Row) -> float:
    """Width of a value with its lamp or bar, without marks, in pixels."""
    width = float(face.getlength(row.value))
    if isinstance(row.kind, Level) and theme.level_bar != "none":
        width += face.size * (LEVEL_BAR + LEVEL_GAP)
    if isinstance(row.kind, Switch) and theme.switch != "text":
        width += face.size * LAMP
    return width


def value_start(theme: Theme, grid: Grid, row: Row, label_end: float) -> float:
    """Left edge of the value, marks and bars included, in pixels."""
    if theme.layout == "column":
        return grid.column
    if theme.layout == "colon":
        return label_end + grid.text.size * 0.7
    mark = mark_width(theme, grid.text)
    return grid.right - value_width(theme, grid.text, row) - 2 * mark


def lay_out(theme: Theme, rows: tuple[Row, ...]) -> Grid:
    """The largest text, up to the theme's size, with which every row fits."""
    width, height = theme.size
    foot = theme.text_px * 0.72 * 2.1
    top = edge(theme) + bar_height(theme) + theme.text_px * 0.35
    bottom = height * 0.985
    if theme.status == "top":
        top += foot * 0.75
    else:
        bottom -= foot
    pitch = min((bottom - top) / len(rows), theme.text_px * _WIDEST_PITCH)
    left, right = width * 0.06, width * 0.94
    px = min(theme.text_px, int(pitch / _PITCH))
    while (column := _column(theme, rows, font(theme.font, px), left, right)) is None:
        px -= 1
    return Grid(font(theme.font, px), left, right, top, pitch, column)


def _column(
    theme: Theme,
    rows: tuple[Row, ...],
    face: ImageFont.FreeTypeFont,
    left: float,
    right: float,
) -> float | None:
    """Where a column of values starts; None when some row does not fit and may be smaller."""
    fields = [row for row in rows if row.field_id]
    labels = [float(face.getlength(row.label)) for row in fields]
    values = [value_width(theme, face, row) + 2 * mark_width(theme, face) for row in fields]
    gap = face.size * (0.6 if theme.layout == "column" else 1.5)
    widest = max(labels) if labels else 0.0
    column = max(theme.size[0] * theme.column, left + widest + gap)
    if theme.layout == "column":
        column = max(min(column, right - max(values, default=0.0)), left + widest + gap)
        fits = column + max(values, default=0.0) <= right
    else:
        pairs = zip(labels, values, strict=True)
        fits = all(left + label + gap + value <= right for label, value in pairs)
    return column if fits or face.size <= SMALLEST_PX else None
