"""Aim: photographs shifted and turned by known amounts, light reversed, and what cannot match."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from skimage.data import camera

from asfound.calc.aim import aim_of, directions, packed, staying, turned_references
from asfound.calc.aim_spans import aims

Luma = np.ndarray


def view(right: float = 0.0, down: float = 0.0, turn: float = 0.0) -> Luma:
    """A window of the photograph "camera" (scikit-image), 400 x 225; shifts in pixels."""
    way = cv2.getRotationMatrix2D((256, 256), -turn, 1.0)
    way[0, 2] += right - 56
    way[1, 2] += down - 140
    return np.asarray(cv2.warpAffine(camera(), way, (400, 225)), np.uint8)


def passing(pictures: Sequence[Luma], seed: int = 4) -> list[Luma]:
    """Something else in the upper half of each picture."""
    random = np.random.default_rng(seed)
    out = []
    for picture in pictures:
        made = picture.copy()
        rough = random.normal(110, 60, (112, 400)).astype(np.float32)
        made[:112] = np.clip(cv2.GaussianBlur(rough, (0, 0), 3) * 1, 0, 255)
        out.append(made)
    return out


def test_shift_and_turn_are_those_put_in() -> None:
    seen = staying([packed(directions(view(24, -16, 4.0)))])
    found = aim_of(seen, turned_references(view()))
    assert found.sure
    assert abs(found.right - 6.0) < 0.5  # 24 of 400 pixels
    assert abs(found.down + 4.0) < 0.5
    assert abs(found.turn - 4.0) <= 1.0


def test_light_on_dark_counts_as_dark_on_light() -> None:
    seen = staying([packed(directions(np.asarray(255 - view(20, 0), np.uint8)))])
    assert abs(aim_of(seen, turned_references(view())).right - 5.0) < 0.5


def test_when_the_aim_moved_is_told() -> None:
    pictures = passing([view()] * 6 + [view(32, 12, -3.0)] * 6)
    held = aims([packed(directions(one)) for one in pictures], turned_references(view()))
    assert held is not None
    assert len(held) == 2
    assert abs(held[1].first - 6) <= 1  # one picture is how exact a span is
    assert held[0].aim.shift < 1.0
    assert abs(held[1].aim.right - 8.0) < 0.7


def test_what_has_nothing_in_common_is_not_matched() -> None:
    random = np.random.default_rng(8)
    rough = [
        cv2.GaussianBlur(random.normal(110, 90, (225, 400)).astype(np.float32), (0, 0), 2)
        for _ in range(6)
    ]
    fields = [packed(directions(np.clip(one, 0, 255).astype(np.uint8))) for one in rough]
    assert aims(fields, turned_references(view())) is None


def test_a_standing_scene_may_have_kept_its_aim_but_is_never_said_to_have_moved() -> None:
    kept = aims([packed(directions(view()))] * 6, turned_references(view()))
    assert kept is not None
    assert [(one.first, one.last) for one in kept] == [(0, 5)]
    assert kept[0].aim.shift < 1.0
    # Surroundings that stay with the vehicle match by chance: common practice, no source.
    assert aims([packed(directions(view(24, -16)))] * 6, turned_references(view())) is None
