"""Drawings to scale: corners computed by hand from a pinhole's geometry."""

from __future__ import annotations

from math import radians, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.lens_view import ground_seen
from asfound.errors import UsageError
from asfound.jobs.ask_lens import ask_lens
from asfound.jobs.plot_lens import plot_above, plot_side, reach
from asfound.model.plot import Line, Shape

CAMERA = {"sensor": "4.8x3.6mm", "focal": "2.8mm", "pixels": "1280"}


def shapes(plot_layers: tuple[object, ...]) -> dict[str, Shape]:
    return {layer.name: layer for layer in plot_layers if isinstance(layer, Shape)}


def test_from_the_side_the_blind_area_ends_where_the_ground_begins() -> None:
    request = ask_lens({**CAMERA, "height": "2.5m", "tilt": "30", "distance": "5m"})
    plot = plot_side(request)
    assert plot is not None and plot.equal
    blind = shapes(plot.layers)["blind area"]
    # 2.5 m / tan(30 + 65.47 / 2 degrees) = 1.29 m.
    assert max(blind.x) == pytest.approx(1.29, abs=0.01) and max(blind.y) == 2.5
    assert plot_side(ask_lens(CAMERA)) is None, "nothing is drawn while the height is not known"


def test_from_above_straight_down_it_is_the_sensor_scaled() -> None:
    # Straight down from h: what is seen is h / f times the sensor: 2 m / 2.8 mm * 3.6 x 4.8 mm.
    request = ask_lens({**CAMERA, "height": "2m", "tilt": "90"})
    seen = shapes(plot_above(request).layers)["ground that is seen"]
    assert max(seen.y) - min(seen.y) == pytest.approx(2 * 4.8 / 2.8)
    # Behind the camera is not drawn: half of 3.6 mm.
    assert max(seen.x) - min(seen.x) == pytest.approx(2 * 1.8 / 2.8)


def test_where_a_class_ends_on_the_axis() -> None:
    request = ask_lens({**CAMERA, "distance": "10m"})
    plot = plot_above(request)
    ends = {layer.name: layer for layer in plot.layers if isinstance(layer, Line)}
    # N f / (w * 125) = 1280 * 2.8 / (4.8 * 125) = 5.973 m, as wide as w d / f.
    assert ends["recognise ends"].x[0] == pytest.approx(5.973, abs=1e-3)
    wide = ends["recognise ends"].y[1] - ends["recognise ends"].y[0]
    assert wide == pytest.approx(1280 / 125)


@given(st.floats(0.3, 5), st.floats(-60, 90))
def test_the_nearest_ground_is_where_the_sums_say(height: float, tilt: float) -> None:
    request = ask_lens({**CAMERA, "height": f"{height:.3f}m", "tilt": f"{tilt:.3f}"})
    ground = ground_seen(request.camera, request.height_m or 0, request.tilt_deg)
    seen = shapes(plot_above(request).layers).get("ground that is seen")
    if ground.near_m >= reach(request):
        assert seen is None
    elif seen is not None and request.tilt_deg + request.camera.upright_deg / 2 < 89:
        assert min(seen.x) == pytest.approx(ground.near_m, abs=1e-6)


def test_below_the_horizon_the_far_row_is_as_wide_as_its_depth() -> None:
    # 2.5 m high, 60 degrees down, half field 32.7: the far row meets the ground 2.5 / tan(27.3).
    request = ask_lens({**CAMERA, "height": "2.5m", "tilt": "60"})
    seen = shapes(plot_above(request).layers)["ground that is seen"]
    assert max(seen.x) == pytest.approx(2.5 / tan(radians(60 - request.camera.upright_deg / 2)))


def test_what_cannot_be() -> None:
    for changed in ({"sensor": "1/3"}, {"focal": ""}, {"pixels": "12.5"}, {"height": "2"}):
        with pytest.raises(UsageError):
            ask_lens({**CAMERA, **changed})
