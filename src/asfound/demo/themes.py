"""Looks of the simulated recorders' menus: fonts, colours, layout, video output.

Two separate lists. TUNING_THEMES is for whoever builds and adjusts a reader; TEST_THEMES has
other fonts, other colours and other layouts, so that figures measured on it are not flattered.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Colour = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours, 8 bit RGB. ``faded`` is for rows that cannot be set, ``line`` for rules and
    empty bars, ``accent`` for full bars and lamps; ``ground_low`` differs from ``ground``
    where the ground runs from one colour (top) to another (bottom)."""

    ground: Colour
    ground_low: Colour
    bar: Colour
    bar_text: Colour
    label: Colour
    value: Colour
    cursor: Colour
    cursor_text: Colour
    faded: Colour
    line: Colour
    accent: Colour


@dataclass(frozen=True, slots=True)
class Composite:
    """Softness of an analogue video output. Widths are Gaussian sigmas in pixels.

    ``chroma_lag`` shifts colour to the right (pixels), ``ringing`` overshoots at edges (share),
    ``comb`` moves every other line sideways (pixels, the two fields of an interlaced
    picture), ``crawl`` is the height of leftover colour carrier in luma (8 bit levels).
    """

    luma: float = 0.7
    chroma: float = 2.5
    chroma_lag: float = 1.0
    ringing: float = 0.15
    comb: float = 0.0
    crawl: float = 1.5


@dataclass(frozen=True, slots=True)
class Theme:
    """One look. ``column`` is where values start, as a share of the width ("column" layout
    only); ``text_px`` the wished font size, made smaller where a page would not fit;
    ``heading`` and ``counter`` are templates with {group}, {title}, {n}, {total}."""

    name: str
    size: tuple[int, int]
    font: str
    title_font: str
    palette: Palette
    text_px: int = 24
    layout: Literal["column", "right", "dots", "colon"] = "column"
    column: float = 0.55
    title: Literal["bar", "centred", "tab"] = "bar"
    heading: str = "{title}"
    counter: str = "{n}/{total}"
    marks: Literal["none", "angles", "arrows", "brackets", "box"] = "none"
    marks_everywhere: bool = False
    cursor: Literal["bar", "frame", "pointer"] = "bar"
    switch: Literal["text", "lamp", "tick"] = "text"
    level_bar: Literal["after", "before", "none"] = "after"
    status: Literal["top", "bottom"] = "bottom"
    rows: Literal["plain", "striped", "ruled"] = "plain"
    smooth: bool = True
    outline: bool = False
    composite: Composite | None = None


_NIGHT = Palette(
    (16, 22, 48), (10, 14, 30), (44, 66, 130), (240, 244, 255), (206, 214, 235), (255, 255, 255),
    (236, 196, 72), (20, 20, 24), (128, 138, 168), (60, 72, 108), (110, 214, 140),
)  # fmt: skip
_PAPER = Palette(
    (232, 232, 226), (214, 216, 214), (58, 84, 92), (250, 250, 246), (34, 38, 40), (12, 40, 88),
    (70, 130, 160), (255, 255, 255), (118, 120, 118), (176, 180, 178), (40, 130, 80),
)  # fmt: skip
_CARBON = Palette(
    (10, 10, 10), (10, 10, 10), (10, 10, 10), (120, 255, 150), (190, 190, 190), (240, 240, 240),
    (60, 60, 60), (255, 255, 120), (120, 120, 120), (70, 70, 70), (120, 255, 150),
)  # fmt: skip
_SLATE = Palette(
    (52, 60, 68), (36, 42, 50), (24, 30, 36), (150, 214, 255), (226, 230, 232), (255, 236, 170),
    (28, 116, 152), (255, 255, 255), (158, 166, 172), (92, 102, 112), (255, 166, 70),
)  # fmt: skip
_BLUEBOX = Palette(
    (20, 40, 150), (20, 40, 150), (20, 40, 150), (255, 255, 90), (235, 235, 235), (255, 255, 255),
    (230, 230, 230), (20, 30, 120), (160, 176, 230), (110, 130, 210), (90, 230, 230),
)  # fmt: skip

TUNING_THEMES: tuple[Theme, ...] = (
    Theme("harbour", (1024, 600), "DejaVuSans.ttf", "DejaVuSans-Bold.ttf", _NIGHT, 27,
          heading="{title}", counter="Page {n} of {total}", marks="arrows", switch="lamp"),
    Theme("ledger", (800, 480), "LiberationSans-Regular.ttf", "LiberationSans-Bold.ttf", _PAPER,
          23, layout="right", title="bar", counter="{n} / {total}", marks="angles",
          rows="ruled", cursor="bar", level_bar="before"),
    Theme("relay", (720, 576), "DejaVuSansMono-Bold.ttf", "DejaVuSansMono-Bold.ttf", _BLUEBOX,
          22, layout="colon", title="centred", counter="[{n:02}]", marks="brackets",
          marks_everywhere=True, status="top", smooth=True, composite=Composite()),
    Theme("carbon", (720, 480), "terminus-bold.otb", "terminus-bold.otb", _CARBON, 22,
          layout="dots", title="tab", counter="{n:02}", marks="angles", cursor="pointer",
          smooth=False, composite=Composite(luma=0.55, chroma=2.0, comb=0.5)),
    Theme("quarry", (1280, 720), "LiberationSans-Bold.ttf", "LiberationSans-Bold.ttf", _SLATE, 31,
          column=0.5, counter="Page {n}/{total}", marks="box", marks_everywhere=True,
          switch="tick", rows="striped", status="top"),
    Theme("brook", (800, 480), "LiberationMono-Regular.ttf", "LiberationMono-Bold.ttf", _NIGHT, 22,
          layout="dots", title="bar", heading="{group} > {title}", counter="p. {n}",
          cursor="frame", outline=True),
)  # fmt: skip

_MOSS = Palette(
    (22, 40, 30), (14, 26, 20), (60, 104, 70), (236, 250, 230), (196, 222, 200), (244, 255, 240),
    (176, 226, 120), (12, 30, 16), (122, 150, 130), (58, 84, 66), (240, 200, 80),
)  # fmt: skip
_CHALK = Palette(
    (246, 246, 248), (246, 246, 248), (246, 246, 248), (150, 40, 40), (60, 60, 70), (0, 0, 0),
    (255, 222, 150), (30, 20, 0), (140, 140, 150), (205, 205, 212), (60, 110, 200),
)  # fmt: skip
_PLUM = Palette(
    (58, 26, 60), (30, 12, 36), (104, 50, 104), (255, 230, 250), (232, 210, 232), (255, 250, 210),
    (250, 130, 90), (30, 8, 20), (170, 138, 172), (96, 62, 100), (120, 220, 230),
)  # fmt: skip
_AMBER = Palette(
    (12, 8, 2), (12, 8, 2), (60, 36, 4), (255, 190, 70), (232, 160, 50), (255, 206, 110),
    (255, 180, 60), (20, 12, 0), (168, 112, 40), (84, 56, 16), (255, 220, 140),
)  # fmt: skip
_SKY = Palette(
    (186, 208, 226), (160, 188, 212), (28, 58, 96), (255, 255, 255), (20, 34, 56), (96, 20, 20),
    (28, 58, 96), (255, 255, 255), (86, 104, 124), (136, 160, 184), (20, 120, 90),
)  # fmt: skip
_RUST = Palette(
    (44, 36, 34), (30, 24, 22), (120, 58, 34), (255, 238, 214), (214, 206, 200), (190, 240, 255),
    (220, 110, 60), (255, 250, 240), (150, 140, 134), (86, 72, 66), (140, 210, 90),
)  # fmt: skip

TEST_THEMES: tuple[Theme, ...] = (
    Theme("fen", (1024, 600), "FreeSans.ttf", "FreeSansBold.ttf", _MOSS, 29, layout="right",
          title="centred", heading="{title}", counter="{n} of {total}", marks="arrows",
          rows="striped", level_bar="before", switch="tick"),
    Theme("chalk", (1280, 720), "Inconsolata.otf", "Inconsolata.otf", _CHALK, 33, column=0.48,
          title="tab", heading="{group}: {title}", counter="- {n} -", marks="angles",
          marks_everywhere=True, cursor="bar", rows="ruled"),
    Theme("plum", (800, 480), "Hack-Regular.ttf", "Hack-Bold.ttf", _PLUM, 21, layout="colon",
          counter="No. {n}", marks="box", cursor="frame", status="top", switch="lamp"),
    Theme("amber", (720, 576), "unifont.otf", "unifont.otf", _AMBER, 32, layout="column",
          column=0.52, title="bar", counter="{n:02}/{total:02}", marks="brackets",
          cursor="bar", smooth=False, composite=Composite(luma=0.8, chroma=3.0, comb=0.4)),
    Theme("sky", (720, 480), "FreeSansBold.ttf", "FreeSansBold.ttf", _SKY, 22, layout="dots",
          title="bar", counter="Page {n}", marks="none", cursor="pointer",
          composite=Composite(luma=0.6, chroma=2.2, ringing=0.25)),
    Theme("mill", (1024, 600), "FreeMonoBold.ttf", "FreeMonoBold.ttf", _RUST, 26,
          layout="column", column=0.5, heading="{title}", counter="{n}", marks="arrows",
          marks_everywhere=True, cursor="frame", status="top", outline=True),
)  # fmt: skip
