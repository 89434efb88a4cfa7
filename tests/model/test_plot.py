"""Plots as data: what cannot be drawn is refused."""

from __future__ import annotations

from math import inf, nan

import pytest

from asfound.errors import UsageError
from asfound.model.plot import Axis, Band, Bars, Line, Plot, Points, Rule, Shape


def test_titles_and_names() -> None:
    # ISO 80000-1 writes the unit of a figure beside its name; brackets: common practice, no source.
    assert Axis("time", "h").words == "time [h]" and Axis("cause").words == "cause"
    drawn = Plot(
        "t", Axis("x"), Axis("y"), (Line("a", (0,), (0,)), Rule("b", 1), Points("a", (), ()))
    )
    assert drawn.names == ("a", "b")


@pytest.mark.parametrize("kind", [Line, Points, Shape])
def test_as_many_across_as_up_and_finite(kind: type[Line | Points | Shape]) -> None:
    with pytest.raises(UsageError, match="more figures"):
        kind("a", (0.0, 1.0), (0.0,))
    with pytest.raises(UsageError, match="not finite"):
        kind("a", (0.0,), (nan,))


def test_bands_rules_and_bars() -> None:
    with pytest.raises(UsageError, match="more figures"):
        Band("a", (0.0,), (0.0,), ())
    with pytest.raises(UsageError, match="no rule"):
        Rule("a", 1.0, "z")
    with pytest.raises(UsageError, match="no rule"):
        Rule("a", inf)
    with pytest.raises(UsageError, match="finite value for each"):
        Bars("a", ("one", "two"), (1.0,))
