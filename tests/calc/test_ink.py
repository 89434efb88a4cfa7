"""Ink on a row, drawn here with OpenCV's own strokes and fonts (no simulator)."""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from asfound.calc.ink import contrast, find_ink, hidden, inner_part
from asfound.calc.letter_case import checked_case, missed_spaces

Strip = NDArray[np.uint8]


def ground(width: int = 900, level: int = 30, noise: float = 2.0, seed: int = 0) -> Strip:
    rng = np.random.default_rng(seed)
    return np.clip(rng.normal(level, noise, (48, width, 3)), 0, 255).astype(np.uint8)


def written(text: str, at: int = 300, width: int = 900, noise: float = 2.0) -> Strip:
    strip = ground(width, noise=noise)
    cv2.putText(strip, text, (at, 36), cv2.FONT_HERSHEY_SIMPLEX, 1.0, (220, 220, 220), 2)
    return strip


@pytest.mark.parametrize("noise", [0.5, 4.0, 12.0])
def test_an_empty_row_has_no_ink(noise: float) -> None:
    assert find_ink(ground(noise=noise), 190.0) is None


@pytest.mark.parametrize("text", ["-", ".3", "l", "Depot", "1", "*"])
def test_the_least_sign_is_ink(text: str) -> None:
    found = find_ink(written(text), 190.0)
    assert found is not None
    assert 0.28 < found.start < 0.4 and found.end < 0.6


def test_a_dotted_leader_is_no_ink_but_what_follows_it_is() -> None:
    strip = ground()
    for x in range(10, 700, 20):
        cv2.rectangle(strip, (x, 33), (x + 4, 37), (90, 90, 110), -1)
    assert find_ink(strip, 190.0) is None
    cv2.putText(strip, "on", (780, 36), cv2.FONT_HERSHEY_SIMPLEX, 1.0, (220, 220, 220), 2)
    found = find_ink(strip, 190.0)
    assert found is not None and found.start > 0.8


def test_the_marks_of_a_mask_are_ink_and_a_mask() -> None:
    strip = ground()
    for x in range(500, 620, 20):
        cv2.circle(strip, (x, 23), 5, (220, 220, 220), -1)
    found = find_ink(strip, 190.0)
    assert found is not None and found.is_mask


def test_three_alike_signs_are_counted_but_no_mask_yet() -> None:
    strip = ground()
    for x in range(500, 560, 20):
        cv2.circle(strip, (x, 23), 5, (220, 220, 220), -1)
    found = find_ink(strip, 190.0)
    assert found is not None and found.alike == 3 and not found.is_mask


def test_specks_here_and_there_are_no_signs_alike() -> None:
    strip = ground()
    for x, y, radius in ((300, 20, 3), (345, 27, 6), (610, 18, 4), (633, 25, 2)):
        cv2.circle(strip, (x, y), radius, (220, 220, 220), -1)
    found = find_ink(strip, 190.0)
    assert found is not None and found.alike == 0 and not found.is_mask


def test_stripes_through_the_row_are_no_mask() -> None:
    """The beat of screen and sensor makes even stripes, from row to row."""
    strip = ground()
    for x in range(500, 700, 20):
        cv2.rectangle(strip, (x, 0), (x + 9, strip.shape[0]), (150, 150, 150), -1)
    found = find_ink(strip, 190.0)
    assert found is not None and found.alike == 0 and not found.is_mask


def test_a_mask_right_behind_the_label_is_not_taken_for_a_leader() -> None:
    strip = ground()
    for x in range(20, 220, 20):
        cv2.circle(strip, (x, 33), 4, (220, 220, 220), -1)
    assert find_ink(strip, 190.0) is not None


def test_a_mask_behind_a_leader_is_ink() -> None:
    strip = ground()
    for x in range(10, 500, 20):
        cv2.rectangle(strip, (x, 33), (x + 4, 37), (90, 90, 110), -1)
    for x in range(560, 680, 20):
        cv2.circle(strip, (x, 30), 5, (220, 220, 220), -1)
    found = find_ink(strip, 190.0)
    assert found is not None and found.start > 0.55 and found.is_mask


def test_signs_cut_by_the_edge_of_the_strip_hide_what_is_there() -> None:
    strip = ground()
    for x in range(560, 680, 20):
        cv2.circle(strip, (x, 1), 6, (220, 220, 220), -1)
    assert hidden(strip, written("Plate", 10, 200))


def test_two_signs_are_not_marks() -> None:
    for text in ("5 s", "15", "7", "30 s", "1.5 g"):
        assert inner_part(written(text, 20, 60 + 22 * len(text))) is None, text


def test_a_cursor_frame_is_no_ink() -> None:
    strip = ground()
    cv2.line(strip, (0, 9), (860, 12), (230, 200, 80), 3)
    cv2.line(strip, (860, 12), (860, 47), (230, 200, 80), 3)
    assert find_ink(strip, 190.0) is None


def test_the_end_of_a_cursor_bar_is_no_ink() -> None:
    strip = ground()
    strip[:, :850] = (60, 130, 160)
    assert find_ink(strip, 150.0) is None


def test_glare_and_noise_hide_but_a_white_menu_does_not() -> None:
    label = written("Plate", 10, 200)
    assert not hidden(ground(), label)
    glare = ground()
    glare[:, 300:700] = 255
    assert hidden(glare, label)
    rng = np.random.default_rng(1)
    grain = np.clip(rng.normal(128, 80, (48, 900, 1)), 0, 255).repeat(3, axis=2)
    assert hidden(grain.astype(np.uint8), label)
    white = np.full((48, 900, 3), 250, np.uint8)
    on_white = (255 - written("Plate", 10, 200)).astype(np.uint8)
    on_white[on_white > 200] = 250
    assert not hidden(white, on_white)


def test_contrast_is_that_of_the_text() -> None:
    assert contrast(ground()) < 15
    assert contrast(written("Braking", 10, 160)) > 150


def test_lone_marks_are_cut_off() -> None:
    strip = ground(260)
    cv2.fillPoly(strip, [np.array([[14, 24], [32, 12], [32, 36]])], (220, 220, 220))
    cv2.putText(strip, "30", (80, 36), cv2.FONT_HERSHEY_SIMPLEX, 1.0, (220, 220, 220), 3)
    cv2.fillPoly(strip, [np.array([[246, 24], [228, 12], [228, 36]])], (220, 220, 220))
    part = inner_part(strip)
    assert part is not None
    assert 32 / 260 < part[0] < 84 / 260 and 110 / 260 < part[1] < 230 / 260
    assert inner_part(ground(200)) is None


def test_a_spot_of_glare_as_wide_as_a_sign_hides_a_short_value() -> None:
    label = written("Plate", 10, 200)
    strip = ground()
    cv2.ellipse(strip, (800, 24), (34, 20), 0, 0, 360, (255, 255, 255), -1)
    assert hidden(strip, label)
    dot = ground()
    cv2.circle(dot, (800, 24), 5, (255, 255, 255), -1)
    assert not hidden(dot, label)


def test_a_veil_of_light_hides_what_a_bright_row_of_its_own_does_not() -> None:
    label = written("PIN", 10, 200)
    glow = 140.0 * np.exp(-(((np.arange(900) - 780) / 60.0) ** 2))
    veiled = np.clip(ground().astype(float) + glow[None, :, None], 0, 255).astype(np.uint8)
    assert hidden(veiled, label)
    faint = np.clip(ground().astype(float) + glow[None, :, None] / 3, 0, 255).astype(np.uint8)
    assert not hidden(faint, label)
    bar = np.full((48, 900, 3), 140, np.uint8)
    on_bar = np.clip(label.astype(int) + 110, 0, 255).astype(np.uint8)
    assert not hidden(bar, on_bar)


def places(text: str, strip: Strip, at: int) -> tuple[float, ...]:
    """Middles of the characters, by OpenCV's own measure of the text."""
    ends = [
        cv2.getTextSize(text[:n], cv2.FONT_HERSHEY_SIMPLEX, 1.0, 2)[0][0]
        for n in range(len(text) + 1)
    ]
    return tuple((at + (a + b) / 2) / strip.shape[1] for a, b in pairwise(ends))


@pytest.mark.parametrize(
    ("drawn", "read"),
    [("Stairs", "stairs"), ("Cab", "cab"), ("Offside", "offside"), ("Reverse", "ReverSe"),
     ("Door", "Door"), ("SOS", "SOS"), ("Nearside", "Nearside")],
)  # fmt: skip
def test_heights_tell_capitals(drawn: str, read: str) -> None:
    strip = written(drawn, 20, 260, noise=1.0)
    assert checked_case(strip, read, places(drawn, strip, 20)) == drawn


def test_without_neighbours_nothing_is_said() -> None:
    strip = written("co", 20, 120)
    assert checked_case(strip, "CO", places("co", strip, 20)) == "CO"


@pytest.mark.parametrize(
    ("drawn", "read", "found"),
    [("CAM 8", "CAM8", (3,)), ("CAM8", "CAM8", ()), ("Bus 217", "Bus217", (3,)),
     ("node1", "node1", ()), ("IH10", "IH10", ()),
     ("North Gate", "NorthGate", (5,)), ("Door 1", "Door 1", ())],
)  # fmt: skip
def test_missed_spaces(drawn: str, read: str, found: tuple[int, ...]) -> None:
    strip = written(drawn, 20, 300, noise=1.0)
    all_places = places(drawn, strip, 20)
    kept = [
        at for at, letter in zip(all_places, drawn, strict=True) if letter != " " or drawn == read
    ]
    assert missed_spaces(strip, read, kept) == found
