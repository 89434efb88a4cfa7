"""A row that leaves the picture is never called blank. Common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest

from asfound.calc.match_page import LabelHit
from asfound.calc.textlines import Line
from asfound.jobs.photo_text import PhotoText
from asfound.jobs.value_looks import empty_stretch

LABEL = Line(
    "Name", (0.99,) * 4, (0.1, 0.4, 0.6, 0.9),
    ((20.0, 40.0), (90.0, 40.0), (90.0, 70.0), (20.0, 70.0)),
    left=20.0, right=90.0, height=30.0,
)  # fmt: skip


@pytest.mark.parametrize(("slope", "hidden"), [(0.0, False), (-0.05, False), (-0.2, True)])
def test_a_row_that_climbs_out_of_the_picture_hides_its_value(slope: float, hidden: bool) -> None:
    rng = np.random.default_rng(4)
    picture = np.clip(rng.normal(40, 2, (400, 900, 3)), 0, 255).astype(np.uint8)
    picture[45:65, 20:90:4] = 220
    # Rows rise by ``slope`` and meet the axis at x = 0: see ``textlines.row_slopes``.
    fit = np.array([slope, 0.0, 0.0, 0.0, 0.0])
    text = PhotoText((LABEL,), picture, 0, fit)
    gap = empty_stretch(text, LabelHit(0, 0, 4, 4.0), (120.0, 600.0))
    assert gap.ink is None
    assert gap.hidden is hidden
