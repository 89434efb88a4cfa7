"""Plots inside pages: in the page's colours and language, with words for who cannot see them."""

from __future__ import annotations

import re
from dataclasses import replace

from markupsafe import Markup, escape

from asfound.errors import MissingPart
from asfound.model.plot import Axis, Bars, Layer, Plot
from asfound.ports.plots import Look, PlotForm, Plotter
from asfound.web.step_pages import N_
from asfound.web.texts import Texts

PAGE = Look(
    "var(--ink)", "var(--soft)", "var(--line)", "",
    tuple(f"var(--series-{number})" for number in range(1, 7)), 310,
)  # fmt: skip
"""Names of colours in bench.css, which knows light and dark."""
SIZE = re.compile(r' width="([\d.]+)" height="[\d.]+" ')
LARGEST = 1.6
"""A plot is drawn for a phone; where there is room, it is shown so many times as large."""


WORDS = (
    N_("accepted"), N_("allowed"), N_("away"), N_("budget"), N_("camera"), N_("cause"),
    N_("chance"), N_("date"), N_("drift"), N_("drive"), N_("error"), N_("ground"), N_("height"),
    N_("lawful"), N_("limit"), N_("measured"), N_("promised"), N_("pulses"), N_("recommended"),
    N_("speed"), N_("supply"), N_("threshold"), N_("time"), N_("warranty"), N_("written"),
)  # fmt: skip
"""Names of one word in plots: in a job's code nothing tells them from keys."""
CLASSES = (
    N_("monitor"), N_("detect"), N_("observe"), N_("recognise"), N_("identify"), N_("inspect"),
    N_("overview"), N_("outline"), N_("discern"), N_("perceive"), N_("characterise"),
    N_("validate"), N_("scrutinise"),
)  # fmt: skip
"""Classes of pixel density (IEC/EN 62676-4)."""


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
        title=_said(plot.title, texts),
        x=_axis(plot.x, texts),
        y=_axis(plot.y, texts),
        layers=tuple(_layer(layer, texts) for layer in plot.layers),
    )


def _axis(axis: Axis, texts: Texts) -> Axis:
    return replace(axis, title=_said(axis.title, texts))


def _layer(layer: Layer, texts: Texts) -> Layer:
    named: Layer = replace(layer, name=_said(layer.name, texts))
    if isinstance(named, Bars):
        return replace(named, labels=tuple(_said(label, texts) for label in named.labels))
    return named


def _said(text: str, texts: Texts) -> str:
    """A word of WORDS, or a job's sentence; gettext's "" is the catalogue's head."""
    if not text:
        return ""
    word = texts.gettext(text)
    return word if word != text else texts.told(text)
