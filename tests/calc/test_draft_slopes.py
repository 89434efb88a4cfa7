"""Rows joined one off are put right; rows joined well are left alone."""

from __future__ import annotations

import numpy as np
from tests.calc.test_draft_rows import TEXT_PX, line

from asfound.calc.draft_slopes import regrouped
from asfound.calc.textlines import Line, in_rows

ROWS = [("General", "3/9"), ("Zone", "UTC"), ("Beep", "On"), ("Size", "Low"), ("Delay", "5 s"),
        ("Two", "01.03.2026 10:11:12")]  # fmt: skip
PITCH, FAR = 70.0, 1800.0


def lines(tilt: float = 0.0) -> list[Line]:
    return [
        line(text, left, 100.0 + PITCH * number, TEXT_PX, tilt, 0.99)
        for number, pair in enumerate(ROWS)
        for text, left in zip(pair, (100.0, 100.0 + FAR), strict=True)
    ]


def joined(found: tuple[Line, ...]) -> list[tuple[str, ...]]:
    rows: dict[int, list[str]] = {}
    for one in found:
        rows.setdefault(one.row, []).append(one.text)
    return [tuple(row) for row in rows.values()]


def fitted(slope: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([slope, 0.0, 0.0, 1000.0, 275.0])


def test_a_slope_one_row_off_is_put_right() -> None:
    for way in (1.0, -1.0):
        off = fitted(way * PITCH / FAR)
        wrong = tuple(in_rows(lines(), off))
        assert joined(wrong) != ROWS
        found, slope = regrouped(wrong, off)
        assert joined(found) == ROWS
        assert abs(float(slope[0])) < 0.01


def test_a_good_slope_stays() -> None:
    for tilt in (0.0, 0.05):
        fit = fitted(float(np.tan(tilt)))
        good = tuple(in_rows(lines(tilt), fit))
        found, slope = regrouped(good, fit)
        assert joined(found) == ROWS
        assert slope is fit


def test_few_or_short_rows_are_left_alone() -> None:
    fit = fitted(0.0)
    few = tuple(in_rows(lines()[:4], fit))
    assert regrouped(few, fit) == (few, fit)
    assert regrouped((), fit)[0] == ()
