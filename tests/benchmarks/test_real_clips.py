"""Footage made of real pictures: of the camera's size, never twice the same, nothing enlarged."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

import prove_faults
import real_clips
from asfound.demo.footage_scenes import Look


@pytest.mark.parametrize("name", real_clips.SOURCES)
def test_a_view_drifts_over_the_real_picture_and_never_repeats(name: str) -> None:
    source = real_clips.SOURCES[name]
    look = Look(2 * round(source.width * 1.3 / 2), 2 * round(source.height * 1.3 / 2), 3)
    view = real_clips.FromFile(name, parts=False)(look, 18.0, 1)
    taken = [view.picture(second / 2) for second in range(40)]
    assert all(one.shape == (look.height, look.width) for one in taken)
    assert (
        min(int(one.min()) for one in taken) >= 16 and max(int(one.max()) for one in taken) <= 235
    )
    assert len({one.tobytes() for one in taken}) == 40
    same = real_clips.FromFile(name, parts=False)(look, 18.0, 1)
    assert np.array_equal(same.picture(7.5), taken[15])
    with pytest.raises(ValueError, match="enlarges"):
        real_clips.FromFile(name, parts=False)(Look(2000, 1200, 3), 18.0, 1)


def test_every_group_is_dealt_out_evenly_and_shows_another_place_before() -> None:
    seeds = range(
        prove_faults.FIRST_SEED["real-tuning"], prove_faults.FIRST_SEED["real-tuning"] + 60
    )
    cases = prove_faults.real_cases(seeds)
    assert set(Counter(case.group for case in cases).values()) == {6}
    for case in cases:
        assert case.reference is not None and case.reference.name != case.footage.world
        footage = case.footage
        share = real_clips.vehicle_share(footage.width, footage.height, footage.vehicle)
        assert share >= prove_faults.VEHICLE_SHARE
        assert case.group not in prove_faults.GROUPS or case.footage.world not in real_clips.SMALL


def test_the_vehicles_share_is_what_its_parts_cover() -> None:
    """Without parts a view shows the file alone; with them, the share of pixels that differ between
    the bands is the vehicle's, but for those that are as light as the scene by chance."""
    width, height, vehicle = 400, 224, 4_810_003
    large = Look(520, 2 * round(height * 1.3 / 2), 3)
    views = [
        real_clips.FromFile("coffee", parts)(large, 18.0, vehicle).picture(7.5)
        for parts in (True, False)
    ]
    top, left, band = (large.height - height) // 2, (large.width - width) // 2, round(height / 9)
    inner = [
        one[top + band : top + height - band, left : left + width].astype(int) for one in views
    ]
    seen = float((np.abs(inner[0] - inner[1]) > 2).mean())
    share = real_clips.vehicle_share(width, height, vehicle)
    assert share == pytest.approx(seen, rel=0.2, abs=0.004)
