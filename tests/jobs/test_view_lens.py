"""What a camera sees and whether it is enough. Figures: N f / (w d), computed by hand."""

from __future__ import annotations

import pytest

from asfound.calc.lens_view import Camera
from asfound.errors import UsageError
from asfound.jobs.view_lens import ViewLens, view_lens

CAMERA = Camera(4.8, 3.6, 2.8, 1280)


def test_just_not_enough_is_not_enough() -> None:
    # 248.889 pixels a metre at 3 m: identify wants 250 (IEC/EN 62676-4:2014).
    seen = view_lens(ViewLens(CAMERA, away_m=3, need="identify"))
    assert seen.good == "recognise" and seen.density == pytest.approx(248.889, abs=5e-4)
    assert seen.findings == ("248.9 pixels a metre at 3 m, identify wants 250",)
    assert view_lens(ViewLens(CAMERA, away_m=2.98, need="identify")).findings == ()


def test_a_density_that_misses_a_class_is_not_written_as_that_class() -> None:
    # 1280 x 2.8 / (4.8 x 2.987) = 249.972: "250.0, identify wants 250" would tell nobody anything.
    seen = view_lens(ViewLens(CAMERA, away_m=2.987, need="identify"))
    assert seen.findings == ("249.9 pixels a metre at 2.987 m, identify wants 250",)
    assert seen.written == "249.9" and view_lens(ViewLens(CAMERA)).written == ""


def test_the_newer_classes_ground_and_wide_lenses() -> None:
    seen = view_lens(ViewLens(CAMERA, "2025", away_m=3, height_m=2.5, tilt_deg=30))
    assert seen.good == "perceive" and seen.ground is not None
    assert seen.ground.near_m == pytest.approx(1.2884, abs=1e-4)  # 2.5 / tan 62.735 degrees
    wide = view_lens(ViewLens(Camera(4.8, 3.6, 1.8, 1280)))
    assert "bend lines" in wide.findings[0] and wide.density is None


@pytest.mark.parametrize(
    ("request_", "said"),
    [
        (ViewLens(CAMERA, "1999"), "no classes of 1999"),
        (ViewLens(CAMERA, away_m=1, need="admire"), "no class 'admire'"),
        (ViewLens(CAMERA, need="identify"), "give the distance"),
    ],
)
def test_what_cannot_be(request_: ViewLens, said: str) -> None:
    with pytest.raises(UsageError, match=said):
        view_lens(request_)
