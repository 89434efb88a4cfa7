"""Bars and lamps, drawn here with OpenCV; a level's look is common practice, no source."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from asfound.calc.draft_marks import has_bar, inked

Strip = NDArray[np.uint8]


def strip(wide: int = 500) -> Strip:
    ground = np.full((50, wide, 3), (30, 34, 60), np.uint8)
    noise = np.random.default_rng(4).normal(0, 4, ground.shape)
    return np.asarray(np.clip(ground + noise, 0, 255), np.uint8)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_a_bar_is_seen_however_full_it_is(share: float) -> None:
    drawn = strip()
    cv2.rectangle(drawn, (150, 16), (350, 34), (220, 220, 220), -1)
    cv2.rectangle(drawn, (153, 19), (347, 31), (60, 72, 108), -1)
    cv2.rectangle(drawn, (153, 19), (153 + round(194 * share), 31), (110, 214, 140), -1)
    assert has_bar(drawn)


def test_text_dots_masks_and_a_cursor_are_no_bar() -> None:
    empty, cursor, dots, text = strip(), strip(), strip(), strip()
    cursor[:, :400] = (236, 196, 72)
    for left in range(10, 490, 20):
        cv2.rectangle(dots, (left, 34), (left + 4, 38), (200, 200, 200), -1)
    cv2.putText(text, "12 km/h 80", (60, 36), cv2.FONT_HERSHEY_SIMPLEX, 1.1, (255, 255, 255), 2)
    assert not any(has_bar(one) for one in (empty, cursor, dots, text))


def test_a_lamp_is_ink_and_ground_is_not() -> None:
    lamp = strip(60)
    cv2.circle(lamp, (30, 25), 12, (110, 214, 140), -1)
    assert inked(lamp, 150.0)
    assert not inked(strip(60), 150.0)
    dot = strip(60)
    cv2.rectangle(dot, (28, 36), (32, 39), (200, 200, 200), -1)
    assert not inked(dot, 150.0)
    assert not inked(strip(2), 150.0)
