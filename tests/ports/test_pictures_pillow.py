"""Decoding of still pictures. EXIF tags and their meaning: CIPA DC-008 (Exif 2.31), orientation
values 1 to 8 of tag 0x0112, tried against NumPy's own turning."""

from __future__ import annotations

import io
import struct
import zlib
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from PIL import Image

from asfound.errors import PictureError
from asfound.ports.backends.pictures_pillow import PillowPictures

PICTURES = PillowPictures()
SCENE = np.zeros((40, 60, 3), np.uint8)
SCENE[:20, :30] = (250, 20, 20)
SCENE[20:, 30:] = (20, 20, 250)


def encoded(kind: str = "JPEG", **tags: str | int) -> bytes:
    image = Image.fromarray(SCENE)
    exif = Image.Exif()
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
    image.save(buffer, kind, exif=exif)
    return buffer.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "BMP", "TIFF"])
def test_pictures_are_decoded_to_rgb(kind: str) -> None:
    pixels = PICTURES.decode(encoded(kind), "a").pixels
    assert pixels.shape == SCENE.shape and pixels.dtype == np.uint8
    assert np.abs(pixels[5, 5].astype(int) - SCENE[5, 5]).max() < 25


@pytest.mark.parametrize(
    ("orientation", "upright"),
    [(1, SCENE), (2, SCENE[:, ::-1]), (3, np.rot90(SCENE, 2)), (4, SCENE[::-1]),
     (6, np.rot90(SCENE, 3)), (8, np.rot90(SCENE, 1))],
)  # fmt: skip
def test_orientation_is_applied(orientation: int, upright: np.ndarray) -> None:
    pixels = PICTURES.decode(encoded(orientation=orientation), "a").pixels
    assert pixels.shape == upright.shape
    assert np.abs(pixels.astype(int) - upright)[5:-5, 5:-5].mean() < 12


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


def bomb(width: int, height: int) -> bytes:
    """A PNG header that promises many pixels (chunks: W3C PNG specification)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(name + data))
        return struct.pack(">I", len(data)) + name + data + check

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    data = zlib.compress(b"\0" * 1000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


@pytest.mark.parametrize(("width", "height"), [(20_000, 10_000), (60_000, 60_000)])
def test_a_bomb_is_refused_by_its_header(width: int, height: int) -> None:
    with pytest.raises(PictureError, match=r"big\.png.*make it smaller") as caught:
        PICTURES.decode(bomb(width, height), "big.png")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("data", [b"", b"MZ", b"hello " * 50, b"%PDF-1.7\n", b"\xff\xd8\xff"])
def test_what_is_no_picture_is_one_line(data: bytes) -> None:
    with pytest.raises(PictureError, match=r"notes\.txt: ") as caught:
        PICTURES.decode(data, "notes.txt")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_file_cut_short_is_told(kind: str) -> None:
    noise = np.random.default_rng(0).integers(0, 255, (200, 200, 3), dtype=np.uint8)
    buffer = io.BytesIO()
    Image.fromarray(noise).save(buffer, kind)
    with pytest.raises(PictureError, match=r"damaged or cut short|not a picture"):
        PICTURES.decode(buffer.getvalue()[: len(buffer.getvalue()) // 2], "half")


def test_encoding_is_jpeg_and_repeatable() -> None:
    data = PICTURES.encode_jpeg(SCENE, 90)
    assert data == PICTURES.encode_jpeg(SCENE, 90)
    assert Image.open(io.BytesIO(data)).format == "JPEG"
    assert np.abs(PICTURES.decode(data, "a").pixels.astype(int) - SCENE).mean() < 12
