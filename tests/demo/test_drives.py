"""Simulated drives are what they say: the same for a seed, gravity in them, truth beside them."""

from __future__ import annotations

import numpy as np
import pytest

from asfound.demo.drives import BUS, START_S, VEHICLES, Conditions, Vehicle, drive

G = 9.80665
"""Standard gravity (3rd CGPM, 1901)."""


@pytest.mark.parametrize("vehicle", VEHICLES)
def test_a_drive(vehicle: Vehicle) -> None:
    made = drive(7, 6, vehicle, Conditions(harsh_an_hour=40))
    log, track = made.acceleration, made.track
    assert len(log) == pytest.approx(6 * 60 * 25, abs=2)
    assert np.median(np.linalg.norm(log.xyz_ms2, axis=1)) == pytest.approx(G, abs=0.5)
    assert made.axes @ made.axes.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(made.axes) == pytest.approx(1.0)
    # Up is where gravity is: within what offsets and slopes leave.
    rest = np.median(log.xyz_ms2, axis=0)
    assert rest @ made.axes[2] / np.linalg.norm(rest) > 0.99
    assert 0 < track.speed_ms.max() < 40 and (track.speed_ms >= 0).all()
    for label in made.labels:
        assert START_S <= label.start_s <= label.end_s <= START_S + 6 * 60 + 1
    assert made.labels


def test_the_same_seed_is_the_same_drive() -> None:
    one, two, other = (drive(seed, 2) for seed in (3, 3, 4))
    assert (one.acceleration.xyz_ms2 == two.acceleration.xyz_ms2).all()
    assert (one.track.speed_ms == two.track.speed_ms).all() and one.labels == two.labels
    assert (
        one.acceleration.xyz_ms2.shape != other.acceleration.xyz_ms2.shape
        or (one.acceleration.xyz_ms2 != other.acceleration.xyz_ms2).any()
    )


def test_square_and_at_any_rate() -> None:
    made = drive(5, 2, BUS, Conditions(rate_hz=100.0, upright=True))
    assert (made.axes == np.eye(3)).all()
    assert np.median(np.diff(made.acceleration.times_s)) == pytest.approx(0.01)
