"""Lenses: fields of view, densities and classes, computed by hand from optics texts' formulas."""

from __future__ import annotations

from math import atan2, degrees, inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.lens_view import CLASSES, Camera, focal_for, good_for, ground_seen


@pytest.mark.parametrize(
    ("focal", "field"), [(2.1, 97.63), (2.8, 81.20), (4, 61.93), (6, 43.60), (12, 22.62)]
)
def test_fields_of_view_of_a_third_inch_sensor(focal: float, field: float) -> None:
    # 4.8 mm x 3.6 mm (nominal 1/3 inch, video-tube convention): 2 atan(w / 2f), computed by hand.
    camera = Camera(4.8, 3.6, focal, 1920)
    assert camera.across_deg == pytest.approx(field, abs=5e-3)
    assert focal_for(4.8, camera.across_deg) == pytest.approx(focal)


def test_upright_and_the_inverse() -> None:
    assert Camera(4.8, 3.6, 2.8, 1280).upright_deg == pytest.approx(65.47, abs=5e-3)
    assert focal_for(4.8, 90) == pytest.approx(2.4), "90 degrees: half the sensor's width"


@pytest.mark.parametrize(
    ("focal", "distance", "across", "density", "use"),
    # N f / (w d), computed by hand; classes of IEC/EN 62676-4:2014.
    [
        (4, 5, 1920, 320.0, "identify"),
        (2.8, 3, 1280, 248.889, "recognise"),
        (4, 5, 704, 117.333, "observe"),
    ],
)
def test_pixels_a_metre_and_what_they_are_good_for(
    focal: float, distance: float, across: int, density: float, use: str
) -> None:
    camera = Camera(4.8, 3.6, focal, across)
    assert camera.density_at(distance) == pytest.approx(density, abs=5e-4)
    assert good_for(camera.density_at(distance), "2014") == use


def test_how_far_each_class_reaches() -> None:
    # 4.8 mm, 4 mm, 1920 pixels, N f / (w density), computed by hand.
    camera = Camera(4.8, 3.6, 4, 1920)
    reach = {name: camera.farthest(least) for name, least in CLASSES["2014"].items()}
    wanted = {"identify": 6.4, "recognise": 12.8, "observe": 25.6, "detect": 64, "monitor": 128}
    assert {name: reach[name] for name in wanted} == pytest.approx(wanted)
    assert all(good_for(least, "2025") == name for name, least in CLASSES["2025"].items())
    assert good_for(11, "2014") == ""


def test_the_ground_before_a_camera() -> None:
    # 53.13 degrees upright (h = f): at 2.5 m and 45 degrees down from 2.5 / tan 71.565 = 0.8333 m
    # to 2.5 / tan 18.435 = 7.5 m, computed by hand.
    camera = Camera(4.8, 3.6, 3.6, 1920)
    seen = ground_seen(camera, 2.5, 45)
    assert (seen.near_m, seen.far_m) == pytest.approx((0.8333, 7.5), abs=1e-3)
    assert ground_seen(camera, 2.5, 10).far_m == inf, "the horizon is in view"
    assert ground_seen(camera, 2.5, 80).near_m == 0.0, "straight below"
    assert ground_seen(camera, 2.5, -40).near_m == inf, "only the sky"


@given(st.floats(1.5, 30), st.floats(0.5, 4), st.floats(0, 89), st.floats(1, 2))
def test_a_higher_camera_has_the_larger_blind_area(
    focal: float, height: float, tilt: float, factor: float
) -> None:
    camera = Camera(4.8, 3.6, focal, 1280)
    low, high = ground_seen(camera, height, tilt), ground_seen(camera, height * factor, tilt)
    assert high.near_m >= low.near_m - 1e-12
    if 0 < low.near_m < inf:
        below = degrees(atan2(height, low.near_m))
        assert below == pytest.approx(tilt + camera.upright_deg / 2, abs=1e-6)


@given(st.floats(1.5, 30), st.floats(0.5, 50), st.integers(352, 4000))
def test_nearer_is_never_fewer_pixels(focal: float, distance: float, across: int) -> None:
    camera = Camera(4.8, 3.6, focal, across)
    assert camera.density_at(distance) >= camera.density_at(distance * 1.1)
    assert camera.farthest(camera.density_at(distance)) == pytest.approx(distance)
