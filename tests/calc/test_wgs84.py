"""Distances against published values and GeographicLib.

Sources: GeographicLib's documentation and its GeodSolve tests (values read in ports of it); the
ports' own results from `geographiclib`; WGS-84 constants.
"""

from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.wgs84 import MEAN_M, distances_m, steps_m

LATITUDE = st.floats(-90, 90)
LONGITUDE = st.floats(-180, 180)


def distance(lat1: float, lon1: float, lat2: float, lon2: float) -> float:
    return float(distances_m(*(np.array([each]) for each in (lat1, lon1, lat2, lon2)))[0])


@pytest.mark.parametrize(
    ("line", "metres", "within"),
    [
        ((-41.32, 174.81, 40.96, -5.50), 19959679.267, 1e-3),  # GeographicLib documentation
        ((40.6, -73.8, 49.01666667, 2.55), 5853226.0, 0.5),  # GeodSolve0
        ((0.0, 0.0, 0.5, 179.5), 19936288.579, 1e-3),  # Vincenty's hard case, read in a port
        ((0.0, 0.0, 0.0, 1.0), 111319.4908, 1e-3),  # a * pi / 180
        ((0.0, 0.0, 1.0, 0.0), 110574.3886, 1e-3),
        ((0.0, 0.0, 90.0, 0.0), 10001965.7293, 1e-3),  # quarter of the meridian
        ((51.5, 0.0, 51.5, 0.002), 138.881, 1e-3),
    ],
)
def test_published_lines(
    line: tuple[float, float, float, float], metres: float, within: float
) -> None:
    assert distance(*line) == pytest.approx(metres, abs=within)


def test_steps_add_up_to_the_line() -> None:
    lon = np.array([0.0, 0.001, 0.002])
    assert steps_m(np.full(3, 51.5), lon).sum() == pytest.approx(138.881, abs=1e-3)


def test_points_almost_opposite_fall_back_to_a_sphere() -> None:
    """19944127.421 m by GeographicLib."""
    assert distance(0, 0, 0.5, 179.7) == pytest.approx(19944127.421, rel=6e-3)
    assert distance(0, 0, 0, 180) == pytest.approx(np.pi * MEAN_M, rel=6e-3)


def test_what_has_no_position_has_no_distance() -> None:
    assert np.isnan(distance(np.nan, 0, 1, 1))


@given(LATITUDE, LONGITUDE, st.floats(-1, 1), st.floats(-1, 1))
def test_roads_agree_with_geographiclib(lat: float, lon: float, north: float, east: float) -> None:
    to = (float(np.clip(lat + north, -90, 90)), lon + east)
    expected = Geodesic.WGS84.Inverse(lat, lon, *to)["s12"]
    assert distance(lat, lon, *to) == pytest.approx(expected, abs=1e-3)


@given(LATITUDE, LONGITUDE, LATITUDE, LONGITUDE)
def test_any_line_is_near_and_the_same_both_ways(
    lat1: float, lon1: float, lat2: float, lon2: float
) -> None:
    made = distance(lat1, lon1, lat2, lon2)
    expected = Geodesic.WGS84.Inverse(lat1, lon1, lat2, lon2)["s12"]
    assert made == pytest.approx(expected, rel=6e-3, abs=1e-3)
    assert distance(lat2, lon2, lat1, lon1) == pytest.approx(made, abs=1e-3)
