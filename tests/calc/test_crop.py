"""Crops and shrinking. Outside check: NumPy slicing and rotation of the same pixels."""

from __future__ import annotations

import numpy as np

from asfound.calc.crop import shrink, straight_crop

RNG = np.random.default_rng(7)
PICTURE = np.asarray(RNG.integers(0, 255, (60, 90, 3)), np.uint8)


def test_an_upright_box_is_cut_out_as_it_is() -> None:
    box = ((10.0, 20.0), (50.0, 20.0), (50.0, 40.0), (10.0, 40.0))
    made = straight_crop(PICTURE, box, margin=0.0)
    np.testing.assert_array_equal(made, PICTURE[20:40, 10:50])


def test_a_box_on_its_side_is_turned_upright() -> None:
    # The text's top left is at the picture's top right: the text runs downwards.
    box = ((50.0, 20.0), (50.0, 40.0), (10.0, 40.0), (10.0, 20.0))
    made = straight_crop(PICTURE, box, margin=0.0)
    turned = np.rot90(PICTURE[20:40, 11:51], 1)
    np.testing.assert_array_equal(made, turned)


def test_the_margin_is_a_share_of_the_height_and_edges_repeat() -> None:
    box = ((0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0))
    made = straight_crop(PICTURE, box, margin=0.5)
    assert made.shape == (40, 60, 3)
    np.testing.assert_array_equal(made[:10, :10], np.broadcast_to(PICTURE[0, 0], (10, 10, 3)))


def test_a_box_of_no_size_still_gives_a_picture() -> None:
    point = (5.0, 5.0)
    assert min(straight_crop(PICTURE, (point, point, point, point)).shape[:2]) >= 1


def test_large_pictures_shrink_and_small_ones_stay() -> None:
    assert shrink(PICTURE, 45).shape == (30, 45, 3)
    assert shrink(PICTURE, 90) is PICTURE
    flat = np.full((100, 200, 3), 77, np.uint8)
    assert np.unique(shrink(flat, 33)).tolist() == [77]


def test_a_crop_is_never_larger_than_asked() -> None:
    box = ((0.0, 0.0), (89.0, 0.0), (89.0, 59.0), (0.0, 59.0))
    assert max(straight_crop(PICTURE, box, longest=40).shape[:2]) <= 40
