"""Plots drawn by Vega-Lite, offline, without a browser (vl-convert carries it all)."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from asfound.errors import MissingPart
from asfound.model.plot import Axis, Band, Bars, Layer, Line, Plot, Points, Rule, Scale, Shape
from asfound.ports.plots import PAPER, Look, PlotForm

SCHEMA = "https://vega.github.io/schema/vega-lite/v5.json"
"""A name, not an address that anything is fetched from."""
DASHES = ([1, 0], [2, 2], [9, 3, 2, 3], [1, 4], [12, 3])
DASHED = [6, 3]
FONT = "Source Sans Pro, DejaVu Sans, sans-serif"
ROLES = re.compile(rb' (?:role|aria-[a-z]+|class)="[^"]*"')
ASPECT = 0.62
"""Height of a frame for its width."""
TALLEST = 1.2
SHARP = 2.0
"""Dots of a PNG for each point."""
ROW = 26
"""Height of a bar and the space to the next [px]."""


class VegaPlotter:
    """A Plotter."""

    def draw(self, plot: Plot, form: PlotForm = PlotForm.SVG, look: Look = PAPER) -> bytes:
        """See Plotter."""
        try:
            import vl_convert  # noqa: PLC0415 (84 MB that most commands never need)
        except ImportError:
            raise MissingPart(
                "plots need vl-convert-python, which is not installed; install asfound again"
            ) from None
        said = chart(plot, look)
        if form == PlotForm.PNG:
            return bytes(vl_convert.vegalite_to_png(said, scale=SHARP))
        if form == PlotForm.PDF:
            return bytes(vl_convert.vegalite_to_pdf(said))
        return ROLES.sub(b"", str(vl_convert.vegalite_to_svg(said)).encode())


def chart(plot: Plot, look: Look) -> dict[str, Any]:
    """The plot as Vega-Lite has it."""
    bars = [layer for layer in plot.layers if isinstance(layer, Bars)]
    width, height = _frame(plot, look, bars)
    names = list(plot.names)
    return {
        "$schema": SCHEMA,
        "width": width,
        "height": height,
        "background": look.ground or "transparent",
        "config": _config(look),
        "layer": [_layer(layer, plot, look) for layer in plot.layers],
        "encoding": {
            "color": {
                "scale": {"domain": names, "range": _colours(names, look)},
                "legend": _key(names),
            },
            "strokeDash": {
                "scale": {"domain": names, "range": [_dash(n, plot.layers) for n in names]},
                "legend": _key(names),
            },
        },
    }


def _key(names: Sequence[str]) -> dict[str, Any] | None:
    if len(names) < 2:
        return None
    return {"orient": "bottom", "columns": 1, "title": None, "labelLimit": 380,
            "symbolType": "stroke", "symbolSize": 260, "symbolOpacity": 1}  # fmt: skip


def _colours(names: Sequence[str], look: Look) -> list[str]:
    return [look.series[number % len(look.series)] for number, _ in enumerate(names)]


def _dash(name: str, layers: Sequence[Layer]) -> list[int]:
    """Rules and lines that ask for it are dashed; the other lines are told apart by theirs."""
    plain = [layer.name for layer in layers if isinstance(layer, Line) and not layer.dashed]
    if name in plain:
        return DASHES[plain.index(name) % len(DASHES)]
    dashed = any(layer.name == name and isinstance(layer, Line | Rule) for layer in layers)
    return DASHED if dashed else [1, 0]


def _frame(plot: Plot, look: Look, bars: Sequence[Bars]) -> tuple[int, int]:
    if bars:
        return look.width * 3 // 5, max(ROW * len(bars[0].labels), ROW)
    if not plot.equal:
        return look.width, round(look.width * ASPECT)
    low_x, high_x, low_y, high_y = _extent(plot)
    tall = look.width * (high_y - low_y) / (high_x - low_x)
    if tall > look.width * TALLEST:
        wide = look.width * TALLEST * (high_x - low_x) / (high_y - low_y)
        return max(60, round(wide)), round(look.width * TALLEST)
    return look.width, max(60, round(tall))


def _extent(plot: Plot) -> tuple[float, float, float, float]:
    """Where the figures of a drawing to scale lie: exactly what its axes show."""
    across = [value for layer in plot.layers for value in getattr(layer, "x", ())]
    up = [value for layer in plot.layers for value in getattr(layer, "y", ())]
    across += [value for value in (plot.x.low, plot.x.high) if value is not None]
    up += [value for value in (plot.y.low, plot.y.high) if value is not None]
    low_x, high_x = min(across, default=0.0), max(across, default=1.0)
    low_y, high_y = min(up, default=0.0), max(up, default=1.0)
    return low_x, high_x if high_x > low_x else low_x + 1, low_y, (
        high_y if high_y > low_y else low_y + 1
    )  # fmt: skip


def _layer(layer: Layer, plot: Plot, look: Look) -> dict[str, Any]:
    encoding: dict[str, Any] = {"color": {"datum": layer.name}}
    if isinstance(layer, Bars):
        rows = [{"l": label, "v": v} for label, v in zip(layer.labels, layer.values, strict=True)]
        encoding |= {
            "y": {
                "field": "l", "type": "nominal", "sort": list(layer.labels),
                "axis": {"title": None, "labelLimit": look.width * 2 // 5, "grid": False},
            },
            "x": _position(plot.x, "v", plot, "x"),
        }  # fmt: skip
        return {"data": {"values": rows}, "mark": {"type": "bar", "size": 15}, "encoding": encoding}
    if isinstance(layer, Rule):
        encoding |= {"strokeDash": {"datum": layer.name}}
        axis = plot.x if layer.on == "x" else plot.y
        encoding[layer.on] = _position(axis, "v", plot, layer.on)
        value = _value(layer.at, axis)
        return {"data": {"values": [{"v": value}]}, "mark": {"type": "rule", "strokeWidth": 1.6},
                "encoding": encoding}  # fmt: skip
    encoding["x"] = _position(plot.x, "x", plot, "x")
    if isinstance(layer, Band):
        rows = [
            {"x": _value(x, plot.x), "y": low, "z": high}
            for x, low, high in zip(layer.x, layer.low, layer.high, strict=True)
        ]
        encoding |= {"y": _position(plot.y, "y", plot, "y"), "y2": {"field": "z"}}
        return {"data": {"values": rows}, "mark": {"type": "area", "opacity": 0.25},
                "encoding": encoding}  # fmt: skip
    encoding |= {"y": _position(plot.y, "y", plot, "y"), "order": {"field": "n"}}
    rows = [
        {"x": _value(x, plot.x), "y": _value(y, plot.y), "n": number}
        for number, (x, y) in enumerate(zip(layer.x, layer.y, strict=True))
    ]
    mark: dict[str, Any] = {"type": "line", "strokeWidth": 2.2, "clip": plot.equal}
    if isinstance(layer, Points):
        del encoding["order"]
        mark = {"type": "point", "filled": True, "size": 45}
    elif isinstance(layer, Shape):
        rows += [{**rows[0], "n": len(rows)}] if rows else []
        # Vega-Lite takes no colour of a scale for the inside of a line: it is named.
        at = plot.names.index(layer.name) % len(look.series)
        mark |= {"fill": look.series[at], "fillOpacity": 0.15}
    else:
        encoding["strokeDash"] = {"datum": layer.name}
    return {"data": {"values": rows}, "mark": mark, "encoding": encoding}


def _value(value: float, axis: Axis) -> float:
    # Vega counts time in milliseconds.
    return value * 1000 if axis.scale == Scale.TIME else value


def _position(axis: Axis, field: str, plot: Plot, on: str) -> dict[str, Any]:
    said: dict[str, Any] = {
        "field": field,
        "type": "temporal" if axis.scale == Scale.TIME else "quantitative",
        "axis": {"title": axis.words, "tickCount": 6},
    }
    scale: dict[str, Any] = {}
    if axis.scale == Scale.TIME:
        scale["type"] = "utc"
    elif axis.scale == Scale.LOG:
        scale["type"] = "log"
    if plot.equal:
        low_x, high_x, low_y, high_y = _extent(plot)
        scale |= {"domain": [low_x, high_x] if on == "x" else [low_y, high_y], "nice": False}
    else:
        if axis.low is not None:
            scale["domainMin"] = _value(axis.low, axis)
        if axis.high is not None:
            scale["domainMax"] = _value(axis.high, axis)
        scale.setdefault("zero", False)
    said["scale"] = scale
    return said


def _config(look: Look) -> dict[str, Any]:
    words = {"labelColor": look.soft, "titleColor": look.soft, "labelFont": FONT,
             "titleFont": FONT, "labelFontSize": 12, "titleFontSize": 12}  # fmt: skip
    return {
        "axis": {**words, "gridColor": look.line, "domainColor": look.soft,
                 "tickColor": look.soft, "titleFontWeight": "normal"},
        "legend": {**words, "labelColor": look.ink, "symbolStrokeWidth": 2.2},
        "view": {"stroke": look.line},
        "padding": 4,
    }  # fmt: skip
