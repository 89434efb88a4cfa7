"""Decoding of still pictures. EXIF tags and their meaning: CIPA DC-008 (Exif 2.31), orientation
values 1 to 8 of tag 0x0112, tried against NumPy's own turning."""

from __future__ import annotations

import io
import struct
from datetime import UTC, datetime, timedelta

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from asfound.ports.backends.pictures_pillow import PillowPictures

PICTURES = PillowPictures()
SCENE = np.zeros((40, 60, 3), np.uint8)
SCENE[:20, :30] = (250, 20, 20)
SCENE[20:, 30:] = (20, 20, 250)


def encoded(kind: str = "JPEG", **tags: str | int) -> bytes:
    image = Image.fromarray(SCENE)
    exif = Image.Exif()
    exif[0x0131] = "Test"  # without a tag of the first directory Pillow writes no EXIF at all
    if "orientation" in tags:
        exif[0x0112] = tags["orientation"]
    inner = exif.get_ifd(0x8769)
    if "taken" in tags:
        inner[0x9003] = tags["taken"]
    if "offset" in tags:
        inner[0x9011] = tags["offset"]
    if "subsecond" in tags:
        inner[0x9291] = tags["subsecond"]
    buffer = io.BytesIO()
    if kind == "HEIF":
        made = pillow_heif.from_pillow(image)
        made.save(buffer, exif=exif.tobytes(), quality=90)
    else:
        image.save(buffer, kind, exif=exif)
    return buffer.getvalue()


KINDS = ["JPEG", "PNG", "WEBP", "BMP", "TIFF", "AVIF", "HEIF"]


@pytest.mark.parametrize("kind", KINDS)
def test_pictures_are_decoded_to_rgb(kind: str) -> None:
    picture = PICTURES.decode(encoded(kind), "a")
    pixels = picture.pixels
    assert pixels.shape == SCENE.shape and pixels.dtype == np.uint8
    assert np.abs(pixels[5, 5].astype(int) - SCENE[5, 5]).max() < 25
    assert picture.original == (60, 40) and picture.factors == (1.0, 1.0) and not picture.note


UPRIGHT = {
    1: SCENE, 2: SCENE[:, ::-1], 3: np.rot90(SCENE, 2), 4: SCENE[::-1],
    5: SCENE.transpose(1, 0, 2), 6: np.rot90(SCENE, 3),
    7: np.rot90(SCENE[::-1, ::-1].transpose(1, 0, 2), 0), 8: np.rot90(SCENE, 1),
}  # fmt: skip


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF", "AVIF", "HEIF"])
@pytest.mark.parametrize("orientation", UPRIGHT)
def test_orientation_is_applied_once(kind: str, orientation: int) -> None:
    """HEIF and AVIF files say it twice: by irot and imir (ISO/IEC 23008-12), and in EXIF."""
    picture = PICTURES.decode(encoded(kind, orientation=orientation), "a")
    upright = UPRIGHT[orientation]
    assert picture.pixels.shape == upright.shape
    assert picture.original == (upright.shape[1], upright.shape[0])
    assert np.abs(picture.pixels.astype(int) - upright)[5:-5, 5:-5].mean() < 12


def test_a_turned_heic_says_so_twice_and_is_turned_once() -> None:
    """What the test above rests on: irot in the file, and EXIF left at 6 as phones do."""
    data = encoded("HEIF", orientation=6)
    assert data.count(b"irot") == 1
    assert data.count(struct.pack(">HHIH", 0x0112, 3, 1, 6)) == 1


@pytest.mark.parametrize("kind", ["JPEG", "HEIF", "PNG", "WEBP", "AVIF"])
def test_capture_time_of_every_format(kind: str) -> None:
    data = encoded(kind, taken="2026:03:17 21:40:05", offset="+01:00", subsecond="25")
    taken = PICTURES.decode(data, "a").taken
    assert taken == datetime(2026, 3, 17, 20, 40, 5, 250_000, tzinfo=UTC)


def test_capture_time_is_aware_only_with_its_offset_tag() -> None:
    taken = "2026:03:17 21:40:05"
    assert PICTURES.decode(encoded(taken=taken), "a").taken == datetime(2026, 3, 17, 21, 40, 5)
    aware = PICTURES.decode(encoded(taken=taken, offset="+01:30"), "a").taken
    assert aware is not None and aware.utcoffset() == timedelta(hours=1, minutes=30)
    west = PICTURES.decode(encoded(taken=taken, offset="-05:00"), "a").taken
    assert west == datetime(2026, 3, 18, 2, 40, 5, tzinfo=UTC)
    odd = PICTURES.decode(encoded(taken=taken, offset="later"), "a").taken
    assert odd is not None and odd.tzinfo is None


@pytest.mark.parametrize(
    ("subsecond", "microsecond"),
    [("5", 500_000), ("050", 50_000), ("12 ", 120_000), ("123456789", 123_456), ("", 0),
     ("-5", 0), ("x", 0)],
)  # fmt: skip
def test_fractions_of_a_second_are_digits_after_the_point(subsecond: str, microsecond: int) -> None:
    """CIPA DC-008, tag 0x9291: "5" is half a second."""
    data = encoded(taken="2026:03:17 21:40:05", offset="+00:00", subsecond=subsecond)
    taken = PICTURES.decode(data, "a").taken
    assert taken == datetime(2026, 3, 17, 21, 40, 5, microsecond, tzinfo=UTC)


@pytest.mark.parametrize("taken", ["", "0000:00:00 00:00:00", "yesterday"])
def test_a_capture_time_that_is_none(taken: str) -> None:
    assert PICTURES.decode(encoded(taken=taken), "a").taken is None


def test_encoding_is_jpeg_and_repeatable() -> None:
    data = PICTURES.encode_jpeg(SCENE, 90)
    assert data == PICTURES.encode_jpeg(SCENE, 90)
    assert Image.open(io.BytesIO(data)).format == "JPEG"
    assert np.abs(PICTURES.decode(data, "a").pixels.astype(int) - SCENE).mean() < 12
