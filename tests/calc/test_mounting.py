"""Up and forward of a sensor, against worked tilts, an exact turn, and simulated drives.

Drives come from demo/drives.py, which this knows nothing of; seeds 61000 and up were not used for
choosing any figure.
"""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from asfound.calc.log_survey import Surveyor
from asfound.calc.mounting import (
    GRAVITY_MS2,
    Floats,
    Forward,
    Means,
    Motion,
    Up,
    axes_of,
    find_forward,
    find_up,
    level_axes,
    middle,
    motion_of,
    tilt_deg,
)
from asfound.demo.drives import VEHICLES, Conditions, Drive, drive


@pytest.mark.parametrize(
    ("rest", "roll", "pitch"),
    [
        # Worked examples of a static tilt (values computed by hand from the formula).
        ((0.0, 0.5, 0.8660254), 30.0, 0.0),
        ((-0.5, 0.0, 0.8660254), 0.0, 30.0),
        ((0.5, 0.5, 0.70710678), 35.264390, -30.0),
    ],
)
def test_tilt(rest: tuple[float, float, float], roll: float, pitch: float) -> None:
    assert tilt_deg(np.array(rest)) == pytest.approx((roll, pitch), abs=1e-4)


def test_axes_are_right_handed_and_level() -> None:
    for up in np.random.default_rng(2).normal(size=(20, 3)):
        unit = up / np.linalg.norm(up)
        first, second = level_axes(unit)
        assert np.allclose(
            np.stack([first, second, unit]) @ np.stack([first, second, unit]).T, np.eye(3)
        )
        assert np.cross(first, second) @ unit == pytest.approx(1.0)
        turned = axes_of(unit, first + 5 * unit)
        assert np.allclose(turned[0], first) and np.allclose(turned[1], second)
    with pytest.raises(ValueError, match="same direction"):
        axes_of(np.array([0.0, 0, 1]), np.array([0.0, 0, -2]))


def test_the_middle_is_not_moved_by_a_few_that_are_far_away() -> None:
    points = np.concatenate(
        [np.random.default_rng(1).normal(0, 0.1, (90, 3)), np.full((10, 3), 50.0)]
    )
    assert np.linalg.norm(middle(points)) < 0.1


@given(st.floats(-180, 180), st.floats(-0.2, 2.0), st.integers(0, 5))
def test_an_exact_drive_gives_its_angle_and_lag(angle: float, lag: float, seed: int) -> None:
    """Without noise, the angle comes back to a degree whatever angle and lag."""
    draw = np.random.default_rng(seed)
    seconds = 240
    fine = np.arange(seconds * 20) / 20
    own = np.convolve(np.repeat(draw.uniform(-2, 2, seconds // 4), 80), np.ones(20) / 20, "same")
    speed = 15 + np.cumsum(own - own.mean()) / 20
    turned = radians(angle)
    level = np.stack([own * cos(turned), own * sin(turned), np.full(len(own), GRAVITY_MS2)], axis=1)
    means = Means(0.1 + np.arange(seconds * 5) / 5, level.reshape(-1, 4, 3).mean(axis=1), 0.2)
    at = np.arange(5.0, seconds - 5)
    motion = motion_of(at, np.interp(at - lag, fine, speed), np.full(len(at), np.nan))
    up = Up(np.array([0.0, 0, 1]), np.array([0.0, 0, GRAVITY_MS2]), 0.0)
    found = find_forward(means, up, motion)
    assert found is not None
    want = np.array([cos(turned), sin(turned), 0.0])
    assert np.degrees(np.arccos(np.clip(found.axis @ want, -1, 1))) < 1.5
    assert found.lag_s == pytest.approx(lag, abs=0.2)


def test_a_bend_and_a_stop_by_hand() -> None:
    """60 km/h on a radius of 70 m: v²/r = 0.40465 g; from 50 km/h at 0.5 g: v/a = 2.8325 s
    (computed by hand; v²/r and v/a are textbook mechanics)."""
    seconds = np.arange(10.0)
    speed = np.full(10, 60 / 3.6)
    # To the left: the course falls by v/r a second.
    course = -np.degrees(speed / 70 * seconds) % 360
    bend = motion_of(seconds, speed, course)
    assert bend.own.real == pytest.approx(np.zeros(9), abs=1e-9)
    assert bend.own.imag / GRAVITY_MS2 == pytest.approx(np.full(9, 0.40465), rel=1e-4)
    ends = np.array([0.0, 2.8325])
    stop = motion_of(ends, np.array([50 / 3.6, 0.0]), np.full(2, np.nan))
    assert stop.own[0].real / GRAVITY_MS2 == pytest.approx(-0.5, rel=1e-4)
    assert stop.own[0].imag == 0


def looked_at(made: Drive) -> tuple[Means, Up]:
    surveyor = Surveyor()
    surveyor.feed(made.acceleration.times_s, made.acceleration.xyz_ms2)
    survey = surveyor.made()
    assert survey is not None
    standing: NDArray[np.bool_] = (
        np.interp(survey.means.times_s, made.track.times_s, made.track.speed_ms) < 0.5
    )
    up = find_up(survey.means, standing)
    assert up is not None
    return survey.means, up


def off_deg(one: Floats, other: Floats) -> float:
    return float(np.degrees(np.arccos(np.clip(one @ other, -1, 1))))


def test_drives_of_unseen_seeds() -> None:
    offs, told, ups = [], [], []
    for seed in range(61000, 61018):
        made = drive(seed, 12, VEHICLES[seed % 3], Conditions(harsh_an_hour=5))
        means, up = looked_at(made)
        ups.append((off_deg(up.axis, made.axes[2]), up.error_deg))
        track = made.track
        forward = find_forward(
            means, up, motion_of(track.times_s, track.speed_ms, track.course_deg)
        )
        assert forward is not None
        offs.append(off_deg(forward.axis, made.axes[0]))
        told.append(forward.error_deg)
    assert np.median(offs) < 3 and max(offs) < 8
    assert np.mean([off < 2 * error for off, error in zip(offs, told, strict=True)]) >= 0.8
    assert np.mean([off < 2 * error for off, error in ups]) >= 0.8


def test_a_lag_left_out_turns_the_axis() -> None:
    """Why the lag is looked for at all."""
    made = drive(61100, 20, VEHICLES[2])
    means, up = looked_at(made)
    track = made.track
    late = motion_of(track.times_s + 2.0, track.speed_ms, track.course_deg)
    found = find_forward(means, up, late)
    assert found is not None and off_deg(found.axis, made.axes[0]) < 5
    assert found.lag_s == pytest.approx(made.lag_s + 2.0, abs=0.3)


def forward_of(means: Means, up: Up, motion: Motion) -> Forward | None:
    return find_forward(means, up, motion)


def test_too_little_or_another_track_is_no_axis() -> None:
    made = drive(61200, 12)
    means, up = looked_at(made)
    track = made.track
    motion = motion_of(track.times_s, track.speed_ms, track.course_deg)
    few = Motion(motion.from_s[:20], motion.to_s[:20], motion.own[:20])
    assert forward_of(means, up, few) is None
    away = Motion(motion.from_s + 1e6, motion.to_s + 1e6, motion.own)
    assert forward_of(means, up, away) is None
    other = drive(61201, 12).track
    strange = motion_of(other.times_s, other.speed_ms, other.course_deg)
    assert forward_of(means, up, strange) is None, "a track of another drive"
    assert find_up(Means(means.times_s[:20], means.xyz_ms2[:20], 0.2)) is None
    assert find_up(Means(means.times_s, means.xyz_ms2 * 0.3, 0.2)) is None, "that is no gravity"
