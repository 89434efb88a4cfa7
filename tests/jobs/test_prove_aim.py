"""Aim as findings: when parts of the vehicle are elsewhere, gone, or only not to be seen."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import cv2
import numpy as np
import pytest
from tests.driving_views import KEPT, Luma, before, driving

from asfound.calc.aim import Aim
from asfound.jobs.prove_pictures import PictureWatch, Reference
from asfound.model.finding import Finding, Kind

EVERY_S = 2.0


def look(pictures: Sequence[Luma]) -> tuple[list[Finding], list[str]]:
    """What a recording with these key pictures shows, EVERY_S apart."""
    watch = PictureWatch(aim=True)
    for number, picture in enumerate(pictures):
        watch.add(number * EVERY_S, picture, limited=False)
    return watch.result(len(pictures) * EVERY_S, Reference(before()))


def dusk(picture: Luma) -> Luma:
    """So little light that hardly anything is seen."""
    return np.asarray(picture // 9 + 14, np.uint8)


def soft(picture: Luma) -> Luma:
    """Far out of focus."""
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 6), np.uint8)


def test_parts_found_elsewhere_are_a_moved_aim_from_when_to_when() -> None:
    found, doubts = look(driving([KEPT] * 5 + [Aim(7.0, -3.0, 2.0)] * 5))
    [moved] = [one for one in found if one.kind is Kind.MOVED]
    assert moved.unit == "% of the width"
    assert moved.measured == pytest.approx(np.hypot(7.0, 3.0), abs=1.0)  # the shift put in
    assert abs(moved.start_s - 9.0) <= EVERY_S
    assert moved.end_s == 20.0
    assert not doubts


def test_parts_gone_in_pictures_like_the_others_are_a_moved_aim_of_unknown_size() -> None:
    found, doubts = look(driving([KEPT] * 5 + [None] * 5))
    [moved] = [one for one in found if one.kind is Kind.MOVED]
    assert moved.unit == "1"
    assert moved.measured is not None
    assert moved.limit is not None
    assert 0 <= moved.measured < moved.limit
    assert "cannot be told" in moved.note
    assert abs(moved.start_s - 9.0) <= EVERY_S
    assert not doubts


@pytest.mark.parametrize("hide", [dusk, soft])
def test_parts_that_darkness_or_lost_focus_hides_are_no_moved_aim(
    hide: Callable[[Luma], Luma],
) -> None:
    """A tunnel and a lens out of focus hide bonnet and mirror: common practice, no source."""
    pictures = driving([KEPT] * 5) + [hide(one) for one in driving([None] * 10)[5:]]
    found, _ = look(pictures)
    assert not [one for one in found if one.kind is Kind.MOVED]


def test_a_good_drive_has_neither_findings_nor_doubts() -> None:
    assert look(driving([KEPT] * 10)) == ([], [])


def test_nothing_of_the_vehicle_in_view_is_a_doubt() -> None:
    found, doubts = look(driving([None] * 10))
    assert not found
    assert [line.split(":")[0] for line in doubts] == ["aim"]
    assert "parts of the vehicle" in doubts[0]
