"""Hostile, broken and wrong files: one line each, bounded memory, never anything but PictureError.

Formats: PNG (W3C), TIFF 6.0 section 2, HEIF (ISO/IEC 23008-12), ISO base media (14496-12).
"""

from __future__ import annotations

import io
import os
import resource
import struct
import zipfile
import zlib

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from asfound.errors import PictureError
from asfound.ports.backends.pictures_pillow import PillowPictures

PICTURES = PillowPictures()
LONGEST = 512


def refused(data: bytes, name: str = "IMG_1.jpg") -> str:
    """The one line that is said about a file."""
    with pytest.raises(PictureError) as caught:
        PICTURES.decode(data, name, LONGEST)
    line = str(caught.value)
    assert line.startswith(f"{name}: ") and "\n" not in line and len(line) < 220
    return line


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(width: int, height: int, packed: bytes, depth: int = 8, colour: int = 2) -> bytes:
    head = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    parts = chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts


def noise(kind: str, size: int = 200, quality: int = 80) -> bytes:
    pixels = np.random.default_rng(0).integers(0, 255, (size, size, 3), dtype=np.uint8)
    image, buffer = Image.fromarray(pixels), io.BytesIO()
    if kind == "HEIF":
        pillow_heif.from_pillow(image).save(buffer, quality=quality)
    else:
        image.save(buffer, kind, quality=quality)
    return buffer.getvalue()


@pytest.mark.parametrize(("width", "height"), [(20_000, 10_000), (60_000, 60_000), (2**31 - 1, 1)])
def test_a_bomb_is_refused_by_its_header(width: int, height: int) -> None:
    assert "make it smaller" in refused(png(width, height, zlib.compress(b"\0" * 1000)))


def test_more_packed_data_than_pixels_is_not_unpacked() -> None:
    """64 MB of zeros behind a picture of one pixel: a few dozen KB in the file."""
    packer = zlib.compressobj(9)
    packed = b"".join(packer.compress(bytes(1 << 16)) for _ in range(1 << 10)) + packer.flush()
    data = png(1, 1, packed)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert PICTURES.decode(data, "small.png", LONGEST).pixels.shape == (1, 1, 3)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 32 * 1024


def test_a_text_chunk_that_unpacks_to_much_is_refused() -> None:
    text = chunk(b"zTXt", b"Comment\0\0" + zlib.compress(b"A" * (1 << 27), 9))
    data = png(4, 4, zlib.compress(b"\0" * 52))
    assert "damaged" in refused(data[:33] + text + data[33:], "text.png")


def test_a_heic_that_claims_to_be_huge_is_refused() -> None:
    """Its size box (ispe) says 60000 x 60000; the coded picture is 64 x 64."""
    data = noise("HEIF", 64)
    at = data.index(b"ispe") + 8
    huge = data[:at] + struct.pack(">II", 60_000, 60_000) + data[at + 8 :]
    assert "make it smaller" in refused(huge, "IMG_1.heic") or "damaged" in refused(huge)


def test_a_tiff_of_very_many_pictures_costs_one() -> None:
    """20,000 directories in a ring of one strip each; only the first is opened."""
    count, data = 20_000, bytearray(b"II*\0" + struct.pack("<I", 8))
    tags = [(256, 3, 8), (257, 3, 8), (258, 3, 8), (259, 3, 1), (262, 3, 1), (273, 4, 0),
            (277, 3, 1), (278, 3, 8), (279, 4, 64)]  # fmt: skip
    size = 2 + 12 * len(tags) + 4
    strip = 8 + size * count
    for number in range(count):
        entries = b"".join(
            struct.pack("<HHIHxx", tag, kind, 1, value)
            if kind == 3
            else struct.pack("<HHII", tag, kind, 1, strip if tag == 273 else value)
            for tag, kind, value in tags
        )
        last = number == count - 1
        following = 0 if last else 8 + size * (number + 1)
        data += struct.pack("<H", len(tags)) + entries + struct.pack("<I", following)
    picture = PICTURES.decode(bytes(data) + bytes(range(64)), "many.tif", LONGEST)
    assert picture.pixels.shape == (8, 8, 3) and "several pictures" in picture.note


def zipped() -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as made:
        made.writestr("a.txt", "hello " * 100)
    return buffer.getvalue()


@pytest.mark.parametrize(
    "data",
    [b"MZ", b"hello " * 50, b"%PDF-1.7\n", b"GIF89a" + bytes(40), zipped(), bytes(5000),
     b"\0\0\0\x18ftypisom\0\0\0\0isomavc1" + bytes(400), b"\0\0\0\x18ftyp"],
)  # fmt: skip
def test_what_is_no_picture_is_told_as_such(data: bytes) -> None:
    assert "not a picture (JPEG, HEIC, PNG, WebP" in refused(data, "notes.jpg")


def test_an_empty_file_is_told_as_such() -> None:
    assert "empty" in refused(b"")


@pytest.mark.parametrize("data", [b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF\0\0\0\0WEBP",
                                  b"II*\0\x08\0\0\0", b"BM" + bytes(60),
                                  b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"])  # fmt: skip
def test_a_beginning_and_nothing_else(data: bytes) -> None:
    refused(data)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF", "TIFF", "BMP"])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.5, 0.9])
def test_a_file_cut_short_is_told(kind: str, share: float) -> None:
    data = noise(kind)
    refused(data[: int(len(data) * share)])


def test_nothing_is_said_beside_the_one_line(capfd: pytest.CaptureFixture[str]) -> None:
    """libtiff writes to the process's stderr itself (found by the fuzz run)."""
    image, buffer = Image.new("RGB", (64, 64), (1, 2, 3)), io.BytesIO()
    image.save(buffer, "TIFF", compression="tiff_adobe_deflate")
    data = bytearray(buffer.getvalue())
    at = data.index(b"\x78\x9c")
    data[at : at + 12] = bytes(range(12))
    refused(bytes(data), "IMG_1.tif")
    os.write(2, b"still open")
    assert capfd.readouterr().err == "still open"


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF", "TIFF", "BMP"])
def test_a_wrong_ending_does_not_matter(kind: str) -> None:
    assert PICTURES.decode(noise(kind), "IMG_0001.gif").pixels.shape == (200, 200, 3)


@pytest.mark.parametrize(
    "exif",
    [b"Exif\0\0", b"Exif\0\0MM\0*\xff\xff\xff\xff", b"Exif\0\0" + bytes(range(256)) * 20,
     b"Exif\0\0II*\0\x08\0\0\0\xff\xff" + b"\x12\x01\x03\0\x01\0\0\0\x63\0\0\0" * 40,
     b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x87i\0\x04\0\0\0\x01\0\0\0\x08\0\0\0\0"],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_garbage_in_exif_does_not_spoil_the_picture(kind: str, exif: bytes) -> None:
    image, buffer = Image.new("RGB", (64, 48), (90, 160, 30)), io.BytesIO()
    if kind == "HEIF":
        heif = pillow_heif.from_pillow(image)
        heif.info["exif"] = exif
        heif.save(buffer)
    else:
        image.save(buffer, kind, exif=exif)
    picture = PICTURES.decode(buffer.getvalue(), "a")
    assert picture.pixels.shape == (48, 64, 3) and picture.taken is None
    assert np.abs(picture.pixels[20, 20].astype(int) - [90, 160, 30]).max() < 6


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF", "TIFF", "BMP"])
def test_changed_bytes_never_raise_anything_else(kind: str) -> None:
    """benchmarks/fuzz_pictures.py does the same for longer and with more kinds of change."""
    rng = np.random.default_rng(20_261)
    whole = noise(kind, 48)
    for _ in range(120):
        data = bytearray(whole)
        for at in rng.integers(0, len(data), int(rng.integers(1, 9))):
            data[at] = int(rng.integers(256))
        try:
            picture = PICTURES.decode(bytes(data), "fuzzed", LONGEST)
        except PictureError as error:
            assert "\n" not in str(error)
        else:
            assert picture.pixels.dtype == np.uint8 and picture.pixels.shape[2] == 3
