"""Supply leads as a plot."""

from __future__ import annotations

import pytest

from asfound.jobs.ask_leads import ask_leads
from asfound.jobs.plot_leads import plot_leads
from asfound.model.plot import Line, Points, Rule

TYPED = {"supply": "24V", "load": "5A", "length": "8m", "section": "1.5mm2", "celsius": "20"}


def test_lines_begin_at_the_supply_and_thicker_ones_lie_higher() -> None:
    plot = plot_leads(ask_leads({**TYPED, "least": "9V"}))
    lines = [layer for layer in plot.layers if isinstance(layer, Line)]
    assert all(line.y[0] == 24.0 for line in lines) and len(lines) == 5
    assert [line.y[-1] for line in lines] == sorted(line.y[-1] for line in lines)
    [here] = [layer for layer in plot.layers if isinstance(layer, Points)]
    # IEC 60228 class 5: 13.3 ohm/km at most: 2 * 8 m * 0.0133 * 5 A = 1.064 V.
    assert here.y[0] == pytest.approx(24 - 1.064, abs=0.01)
    assert [layer.at for layer in plot.layers if isinstance(layer, Rule)] == [24 * 0.97, 9.0]


def test_lines_end_where_the_leads_break_down() -> None:
    plot = plot_leads(ask_leads({**TYPED, "load": "500W", "section": "0.5mm2"}))
    thin = next(layer for layer in plot.layers if isinstance(layer, Line))
    assert len(thin.x) < 31 and not [layer for layer in plot.layers if isinstance(layer, Points)]
