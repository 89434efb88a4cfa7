"""Draw how true the reader's confidence is: of values stated with 0.9, are nine in ten right?

Takes the pairs (confidence, right) that `python benchmarks/read.py` stores for each severity of
the test set under "confidence pairs", and writes docs/pictures/reliability.svg. Bars show where
the true share lies in 95 of 100 cases (Wilson's interval); the straight line is a confidence that
is true. Run: python benchmarks/reliability.py
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import altair as alt
import vl_convert

from asfound.calc.calibration import Pair, brier, expected_error, reliability

HERE = Path(__file__).parent
RESULTS = HERE / "results" / "read.json"
PICTURE = HERE.parent / "docs" / "pictures" / "reliability.svg"
KEY = "confidence pairs"
BINS = 10
INK, PALE = "#1f2328", "#e6edf3"
"""Words and lines on a light page, and the same on a dark one."""

DOT = "#2f81f7"
"""Legible on both."""


def stored_pairs(results: Mapping[str, object]) -> dict[str, list[Pair]]:
    """Severity -> pairs of the test set. Raises SystemExit when none are stored."""
    sets = results.get("sets")
    cells = sets.get("test") if isinstance(sets, dict) else None
    found: dict[str, list[Pair]] = {}
    for severity, cell in (cells or {}).items():
        pairs = [(float(confidence), bool(right)) for confidence, right in cell.get(KEY, ())]
        if pairs:
            found[severity] = pairs
    if not found:
        raise SystemExit(f"{RESULTS}: no {KEY!r}; run python benchmarks/read.py first")
    return found


def rows(pairs: Mapping[str, Sequence[Pair]], bins: int = BINS) -> list[dict[str, object]]:
    """One row a severity and bin, for the plot."""
    return [
        {
            "severity": f"{severity}: {len(known)} values, expected error "
            f"{100 * expected_error(known, bins):.1f} %, Brier {brier(known):.4f}",
            "confidence": one.confidence,
            "right": one.right,
            "least": one.least,
            "most": one.most,
            "values": one.count,
        }
        for severity, known in pairs.items()
        for one in reliability(known, bins)
    ]


def diagram(pairs: Mapping[str, Sequence[Pair]], bins: int = BINS) -> str:
    """The reliability diagram as SVG, one panel a severity; legible on light and dark pages."""
    base = alt.Chart(alt.InlineData(values=rows(pairs, bins)))
    share = alt.Scale(domain=[0, 1])
    x = alt.X("confidence:Q", title="stated confidence", scale=share)
    bars = base.mark_rule(color=DOT, strokeWidth=1.5).encode(
        x=x, y=alt.Y("least:Q", title="share that was right", scale=share), y2="most:Q"
    )
    size = alt.Size("values:Q", title="values", scale=alt.Scale(type="log", range=[20, 220]))
    dots = base.mark_circle(color=DOT, opacity=1).encode(
        x=x, y=alt.Y("right:Q", scale=share), size=size
    )
    ideal = base.mark_rule(color=INK, strokeDash=[4, 4]).encode(
        x=alt.datum(0), y=alt.datum(0), x2=alt.datum(1), y2=alt.datum(1)
    )
    panels = alt.layer(ideal, bars, dots).properties(width=260, height=260)
    chart = (
        panels.facet(facet=alt.Facet("severity:N", title=None, sort=None), columns=3)
        .configure(background="transparent")
        .configure_view(stroke=INK, strokeOpacity=0.3)
        .configure_axis(labelColor=INK, titleColor=INK, tickColor=INK, domainColor=INK)
        .configure_axis(gridColor=INK, gridOpacity=0.12)
        .configure_header(labelColor=INK, labelFontSize=12)
        .configure_legend(labelColor=INK, titleColor=INK, symbolFillColor=DOT)
    )
    drawn = vl_convert.vegalite_to_svg(chart.to_json())
    return with_dark(drawn)


def with_dark(svg: str) -> str:
    """The SVG with a rule that turns its dark ink pale where the reader's screen is dark."""
    rule = (
        "<style>@media (prefers-color-scheme: dark) {"
        f'[fill="{INK}"] {{fill: {PALE}}} [stroke="{INK}"] {{stroke: {PALE}}}}}</style>'
    )
    end = svg.index(">", svg.index("<svg")) + 1
    return svg[:end] + rule + svg[end:]


def main() -> None:
    """Draw from the stored results."""
    pairs = stored_pairs(json.loads(RESULTS.read_text("utf-8")))
    PICTURE.parent.mkdir(parents=True, exist_ok=True)
    PICTURE.write_text(diagram(pairs), "utf-8")
    for severity, known in pairs.items():
        print(f"{severity}: {len(known)} values, expected error {expected_error(known):.4f}")
    sys.stdout.write(f"{PICTURE}\n")


if __name__ == "__main__":
    main()
