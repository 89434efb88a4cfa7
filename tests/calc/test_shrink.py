"""Shrinking and block maxima, held against scikit-image (downscale_local_mean, block_reduce)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.data import camera
from skimage.measure import block_reduce
from skimage.transform import downscale_local_mean

from asfound.calc.shrink import averaged, block_max, scaled


def test_a_shrunk_picture_is_the_average_of_its_pixels() -> None:
    # Each halving rounds to whole code values: three of them by half a value at most.
    wanted = downscale_local_mean(camera().astype(float), (8, 8))
    assert np.abs(scaled(camera(), 64).astype(float) - wanted).max() <= 1.5


@pytest.mark.parametrize("size", [(64, 64), (16, 128), (128, 8), (512, 512)])
def test_a_plane_is_averaged_to_any_size_it_is_a_multiple_of(size: tuple[int, int]) -> None:
    width, height = size
    wanted = downscale_local_mean(camera().astype(float), (512 // height, 512 // width))
    made = averaged(camera(), width, height)
    assert made.shape == (height, width)
    assert np.abs(made.astype(float) - wanted).max() <= 2.5


def test_any_size_can_be_averaged_to() -> None:
    for width, height in ((320, 180), (511, 7), (1, 1)):
        assert averaged(camera(), width, height).shape == (height, width)


@given(st.integers(1, 700), st.integers(1, 500), st.sampled_from([160, 320, 640]))
def test_a_shrunk_picture_keeps_its_shape_and_is_never_larger(
    width: int, height: int, most: int
) -> None:
    made = scaled(np.zeros((height, width), np.uint8), most)
    assert made.shape[1] == min(width, most)
    assert abs(made.shape[0] - height * made.shape[1] / width) <= 1


@given(st.integers(1, 9), st.integers(1, 9), st.integers(1, 7), st.integers(1, 7))
def test_the_largest_of_each_block_is_scikit_images(
    rows: int, columns: int, tall: int, wide: int
) -> None:
    random = np.random.default_rng(rows + 10 * columns)
    values = random.integers(0, 256, (rows * tall, columns * wide)).astype(np.uint8)
    wanted = block_reduce(values, (tall, wide), np.max)
    assert np.array_equal(block_max(values, tall, wide), wanted)
    assert np.array_equal(block_max(values.astype(np.float32), tall, wide), wanted)
