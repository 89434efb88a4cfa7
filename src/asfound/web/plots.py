"""Plots inside pages: in the page's colours and language, with words for who cannot see them."""

from __future__ import annotations

import re
from dataclasses import replace

from markupsafe import Markup, escape

from asfound.errors import MissingPart
from asfound.model.plot import Axis, Bars, Layer, Plot
from asfound.ports.plots import Look, PlotForm, Plotter
from asfound.web.texts import Texts

PAGE = Look(
    "var(--ink)", "var(--soft)", "var(--line)", "",
    tuple(f"var(--series-{number})" for number in range(1, 7)), 310,
)  # fmt: skip
"""Names of colours in bench.css, which knows light and dark."""
SIZE = re.compile(r' width="([\d.]+)" height="[\d.]+" ')
LARGEST = 1.6
"""A plot is drawn for a phone; where there is room, it is shown so many times as large."""


def drawn(plot: Plot, plotter: Plotter, texts: Texts) -> Markup:
    """The plot as a figure; without the part that draws, one line that says so."""
    said = in_language(plot, texts)
    try:
        svg = plotter.draw(said, PlotForm.SVG, PAGE).decode()
    except MissingPart as error:
        return Markup('<p class="soft">{}</p>').format(texts.told(error))
    names = ", ".join(said.names)
    label = escape(f"{said.title}: {said.x.words}, {said.y.words}; {names}")
    body = SIZE.sub(_larger, svg, count=1)
    body = body.replace("<svg ", f'<svg role="img" aria-label="{label}" ', 1)
    return Markup('<figure class="drawn">{}<figcaption>{}</figcaption></figure>').format(
        Markup(body), said.title
    )


def _larger(size: re.Match[str]) -> str:
    return f' width="{round(float(size[1]) * LARGEST)}" '


def in_language(plot: Plot, texts: Texts) -> Plot:
    """The plot with its words in a language."""
    return replace(
        plot,
        title=texts.told(plot.title),
        x=_axis(plot.x, texts),
        y=_axis(plot.y, texts),
        layers=tuple(_layer(layer, texts) for layer in plot.layers),
    )


def _axis(axis: Axis, texts: Texts) -> Axis:
    return replace(axis, title=texts.told(axis.title) if axis.title else "")


def _layer(layer: Layer, texts: Texts) -> Layer:
    named: Layer = replace(layer, name=texts.told(layer.name) if layer.name else "")
    if isinstance(named, Bars):
        return replace(named, labels=tuple(texts.told(label) for label in named.labels))
    return named
