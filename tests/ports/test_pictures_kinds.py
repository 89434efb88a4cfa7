"""Kinds of pixels: depth, colour, transparency, several pictures in a file, and shrinking.

Expected values: CMYK as Pillow's documentation gives it (R = 255 - C where K = 0); source-over
compositing (W3C Compositing and Blending Level 1, section 9.1); area averages by NumPy.
"""

from __future__ import annotations

import io
from typing import Any

import cv2
import numpy as np
import pillow_heif
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from asfound.errors import PictureError
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.pictures_strips import array_rows, shrunk
from asfound.ports.pictures import Pixels

PICTURES = PillowPictures()
RAMP = np.linspace(0, 65535, 40 * 60).reshape(40, 60).round().astype(np.uint16)


def saved(image: Image.Image, kind: str, **options: Any) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()


def pixels_of(data: bytes, longest: int | None = None) -> Pixels:
    return PICTURES.decode(data, "a", longest).pixels


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_grey_of_16_bits_is_scaled_not_clipped(kind: str) -> None:
    pixels = pixels_of(saved(Image.fromarray(RAMP), kind))
    assert np.array_equal(pixels, np.repeat((RAMP // 256)[:, :, None], 3, axis=2))


def test_big_endian_grey_of_16_bits() -> None:
    raw = Image.frombytes("I;16B", (60, 40), RAMP.astype(">u2").tobytes())
    assert np.array_equal(pixels_of(saved(raw, "TIFF"))[:, :, 0], RAMP // 256)


def test_colour_png_of_16_bits_is_scaled() -> None:
    """Written by OpenCV: Pillow cannot write it."""
    colour = np.stack([RAMP, RAMP[::-1], RAMP[:, ::-1]], axis=-1)
    done, data = cv2.imencode(".png", colour[:, :, ::-1])
    assert done
    got = pixels_of(data.tobytes()).astype(int)
    assert np.abs(got - colour // 256).max() <= 1


def test_heic_of_10_bits() -> None:
    made = pillow_heif.from_bytes("RGB;16", (60, 40), np.repeat(RAMP[:, :, None], 3, 2).tobytes())
    buffer = io.BytesIO()
    made.save(buffer, quality=95)
    assert np.abs(pixels_of(buffer.getvalue())[:, :, 1].astype(int) - RAMP // 256).mean() < 4


@pytest.mark.parametrize("kind", ["JPEG", "TIFF"])
def test_cmyk_becomes_rgb(kind: str) -> None:
    flat = Image.new("CMYK", (32, 32), (200, 40, 0, 0))
    pixel = pixels_of(saved(flat, kind))[16, 16].astype(int)
    assert np.abs(pixel - [55, 215, 255]).max() <= 3


@pytest.mark.parametrize("mode", ["1", "L", "P"])
def test_few_colours(mode: str) -> None:
    grey = np.zeros((40, 60), np.uint8)
    grey[:, 30:] = 255
    assert np.array_equal(
        pixels_of(saved(Image.fromarray(grey).convert(mode), "PNG"))[:, :, 1], grey
    )


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF"])
def test_transparent_parts_lie_over_mid_grey(kind: str) -> None:
    picture = Image.new("RGBA", (32, 32), (250, 10, 10, 255))
    picture.paste((250, 10, 10, 0), (0, 0, 16, 32))
    picture.paste((250, 10, 10, 128), (0, 0, 8, 32))
    options = {"lossless": True, "exact": True} if kind == "WEBP" else {}
    pixels = pixels_of(saved(picture, kind, **options))
    assert pixels[5, 12].tolist() == [128, 128, 128] and pixels[5, 20].tolist() == [250, 10, 10]
    assert np.abs(pixels[5, 4].astype(int) - [189, 69, 69]).max() <= 1


def test_a_palette_with_a_transparent_entry() -> None:
    picture = Image.new("P", (8, 8), 1)
    picture.putpalette([0, 0, 0, 255, 255, 255])
    picture.putpixel((0, 0), 0)
    pixels = pixels_of(saved(picture, "PNG", transparency=0))
    assert pixels[0, 0].tolist() == [128] * 3 and pixels[4, 4].tolist() == [255] * 3


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF"])
def test_of_several_pictures_the_first_is_read_and_that_is_said(kind: str) -> None:
    first, second = (Image.new("RGB", (32, 24), (level,) * 3) for level in (200, 20))
    options = {"lossless": True} if kind == "WEBP" else {}
    data = saved(first, kind, save_all=True, append_images=[second], **options)
    picture = PICTURES.decode(data, "a")
    assert picture.pixels[10, 10].tolist() == [200] * 3
    assert picture.note == "the file holds several pictures; only the first was read"


def test_a_phone_jpeg_with_a_second_picture_behind_is_a_plain_photograph() -> None:
    """CIPA DC-007 (multi-picture format): phones keep depth or light there."""
    first, second = (Image.new("RGB", (32, 24), (level,) * 3) for level in (200, 20))
    picture = PICTURES.decode(saved(first, "MPO", save_all=True, append_images=[second]), "a")
    assert picture.pixels[10, 10, 0] == 200 and not picture.note


@pytest.mark.parametrize("mode", ["I", "F", "LAB"])
def test_samples_that_no_phone_writes_are_refused_by_name(mode: str) -> None:
    with pytest.raises(PictureError, match=rf"odd\.tif: colours of kind {mode}.*as RGB"):
        PICTURES.decode(saved(Image.new(mode, (8, 8)), "TIFF"), "odd.tif")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF", "TIFF", "BMP"])
@pytest.mark.parametrize("size", [(1, 1), (1, 40), (300, 2)])
def test_tiny_and_black_pictures(kind: str, size: tuple[int, int]) -> None:
    buffer = io.BytesIO()
    if kind == "HEIF":
        pillow_heif.from_pillow(Image.new("RGB", size)).save(buffer)
    else:
        Image.new("RGB", size).save(buffer, kind)
    pixels = pixels_of(buffer.getvalue(), longest=64)
    assert pixels.max() < 8 and pixels.shape[2] == 3 and max(pixels.shape[:2]) <= 64


def scene(width: int, height: int) -> Pixels:
    """Soft blobs, so that scaling can be compared."""
    across = np.sin(np.arange(width) / 17.0)[None, :, None]
    down = np.cos(np.arange(height) / 23.0)[:, None, None]
    mixed = 127 + 60 * across + 60 * down * np.array([1.0, 0.5, -1.0])
    return np.asarray(np.clip(mixed, 0, 255), np.uint8)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
@pytest.mark.parametrize("orientation", [1, 6])
def test_a_large_picture_comes_small_with_its_true_size(kind: str, orientation: int) -> None:
    full = scene(1600, 1200)
    exif = Image.Exif()
    exif[0x0112] = orientation
    buffer = io.BytesIO()
    if kind == "HEIF":
        pillow_heif.from_pillow(Image.fromarray(full)).save(buffer, exif=exif.tobytes())
    else:
        Image.fromarray(full).save(buffer, kind, exif=exif)
    picture = PICTURES.decode(buffer.getvalue(), "a", 400)
    blocks = full.reshape(300, 4, 400, 4, 3).mean(axis=(1, 3))
    wanted = blocks if orientation == 1 else np.rot90(blocks, 3)
    assert picture.pixels.shape == wanted.shape
    assert picture.original == ((1600, 1200) if orientation == 1 else (1200, 1600))
    assert picture.factors == (4.0, 4.0)
    assert np.abs(picture.pixels - wanted).mean() < 3


@pytest.mark.parametrize(
    ("width", "longest", "decoded"),
    [(816, 410, 408), (816, 400, 400), (816, 500, 500), (816, 900, 816), (1640, 205, 205)],
)
def test_a_jpeg_is_decoded_by_its_dct_when_nearly_the_size_asked_for(
    width: int, longest: int, decoded: int
) -> None:
    data = saved(Image.fromarray(scene(width, 600)), "JPEG")
    picture = PICTURES.decode(data, "a", longest)
    assert picture.pixels.shape[1] == decoded
    assert picture.factors[0] == pytest.approx(width / decoded)


@given(
    width=st.integers(1, 90), height=st.integers(1, 520), longest=st.integers(1, 200),
    seed=st.integers(0, 9),
)  # fmt: skip
def test_strips_average_like_the_whole(width: int, height: int, longest: int, seed: int) -> None:
    """Against exact area averages: overlaps of each small pixel with each large one."""
    full = np.random.default_rng(seed).integers(0, 256, (height, width, 3), dtype=np.uint8)
    small = shrunk(array_rows(full), (width, height), longest)
    high, wide = small.shape[:2]
    assert max(high, wide) <= max(longest, 1)
    down, across = overlaps(height, high), overlaps(width, wide)
    exact = np.einsum("ab,bcd,ec->aed", down, full.astype(float), across, optimize=True)
    assert np.abs(small - exact).max() <= 1.6  # rounded twice, and OpenCV's weights once


def overlaps(many: int, few: int) -> NDArray[np.float64]:
    """Row i: the share that each of ``many`` cells has in the i-th of ``few`` equal parts."""
    edges = np.arange(few + 1) * many / few
    low = np.maximum(edges[:-1, None], np.arange(many)[None, :])
    high = np.minimum(edges[1:, None], np.arange(1, many + 1)[None, :])
    return np.asarray(np.clip(high - low, 0, None) * few / many, np.float64)
