"""Every drawer of plots, by one contract: all layers, all forms, no name or script in the SVG."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from asfound.model.plot import Axis, Band, Bars, Line, Plot, Points, Rule, Scale, Shape
from asfound.ports.backends.plots_vega import VegaPlotter
from asfound.ports.plots import PAPER, Look, PlotForm, Plotter

PLOTTERS: tuple[Plotter, ...] = (VegaPlotter(),)
SVG = "{http://www.w3.org/2000/svg}"
LINES = Plot(
    "Days kept",
    Axis("drive", "TB", low=0.0),
    Axis("days", "d", low=0.0),
    (
        Band("range", (0.0, 4.0), (0.0, 10.0), (0.0, 20.0)),
        Line("likely", (0.0, 4.0), (0.0, 15.0)),
        Line("other <b>", (0.0, 4.0), (0.0, 5.0)),
        Points("this", (1.0,), (4.0,)),
        Rule("promised", 12.0),
        Rule("now", 2.0, "x"),
    ),
)
DRAWING = Plot(
    "View",
    Axis("away", "m"),
    Axis("height", "m"),
    (Shape("seen", (0.0, 8.0, 8.0), (2.0, 0.0, 2.0)),),
    equal=True,
)
BARS = Plot("Causes", Axis("chance", "%"), Axis("cause"), (Bars("now", ("fuse", "earth"), (7, 3)),))


@pytest.mark.parametrize("plotter", PLOTTERS)
@pytest.mark.parametrize("plot", [LINES, DRAWING, BARS], ids=["lines", "drawing", "bars"])
def test_svg_has_every_word_and_nothing_that_acts(plotter: Plotter, plot: Plot) -> None:
    drawn = plotter.draw(plot)
    root = ET.fromstring(drawn)
    said = {"".join(node.itertext()) for node in root.iter(f"{SVG}text")}
    axes = {plot.x.words} | (set() if plot is BARS else {plot.y.words})
    assert axes <= said
    assert plot is BARS or len(plot.names) < 2 or set(plot.names) <= said
    assert not re.search(rb"<script|<style|<a |onload|role=|aria-|javascript:", drawn)


@pytest.mark.parametrize("plotter", PLOTTERS)
def test_other_forms_and_the_same_each_time(plotter: Plotter) -> None:
    assert plotter.draw(LINES, PlotForm.PNG).startswith(b"\x89PNG\r\n\x1a\n")
    assert plotter.draw(LINES, PlotForm.PDF).startswith(b"%PDF-")
    assert plotter.draw(LINES) == plotter.draw(LINES)


@pytest.mark.parametrize("plotter", PLOTTERS)
def test_a_drawing_to_scale_has_metres_of_one_length(plotter: Plotter) -> None:
    # Geometry: 8 m across and 2 m up are drawn 4 to 1.
    root = ET.fromstring(plotter.draw(DRAWING))
    path = next(
        node.get("d", "")
        for node in root.iter(f"{SVG}path")
        if node.get("fill-opacity") == "0.15" and node.get("d")
    )
    figures = [float(text) for text in re.findall(r"-?\d+(?:\.\d+)?", path)]
    across, up = figures[0::2], figures[1::2]
    ratio = (max(across) - min(across)) / (max(up) - min(up))
    assert ratio == pytest.approx(4.0, rel=0.02)


@pytest.mark.parametrize("plotter", PLOTTERS)
def test_colours_are_those_of_the_look(plotter: Plotter) -> None:
    look = Look("var(--ink)", "var(--soft)", "var(--line)", "", ("var(--series-1)",), 300)
    drawn = plotter.draw(LINES, PlotForm.SVG, look)
    assert b"var(--series-1)" in drawn and b"var(--ink)" in drawn and b"#0b5d68" not in drawn
    assert b'fill="white"' not in drawn and PAPER.series[0].encode() in plotter.draw(LINES)


@pytest.mark.parametrize("plotter", PLOTTERS)
def test_times_are_dates_in_utc(plotter: Plotter) -> None:
    # 2026-01-01T00:00:00Z is 1 767 225 600 s after 1970-01-01 (POSIX).
    day = 86_400.0
    begins = 1_767_225_600.0
    plot = Plot(
        "Clock",
        Axis("day", scale=Scale.TIME),
        Axis("offset", "s"),
        (Line("clock", (begins, begins + 20 * day), (0.0, 9.0)),),
    )
    assert b">2026<" in plotter.draw(plot)
