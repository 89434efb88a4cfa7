"""How fine a capture time is, and the exposure: tags written by Pillow as Exif 2.32 (CIPA DC-008)
defines them (0x9291 SubSecTimeOriginal: digits; 0x829A ExposureTime: a rational, seconds)."""

from __future__ import annotations

import io
from datetime import UTC, datetime

import numpy as np
import pillow_heif
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.pictures import ClipFrame

PICTURES = PillowPictures()


def picture(tags: dict[int, object], kind: str = "JPEG") -> bytes:
    exif = Image.Exif()
    exif[0x0131] = "Test"
    exif.get_ifd(0x8769).update({0x9003: "2026:03:17 21:40:05", **tags})
    buffer = io.BytesIO()
    Image.fromarray(np.zeros((8, 8, 3), np.uint8)).save(buffer, kind, exif=exif)
    return buffer.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize(
    ("subsecond", "step"),
    [("", 1.0), ("5", 0.1), ("050", 0.001), ("12 ", 0.01), ("123456789", 1e-6), ("x", 1.0)],
)
def test_how_fine_the_capture_time_is(subsecond: str, step: float, kind: str) -> None:
    made = PICTURES.decode(picture({0x9291: subsecond}, kind), "a")
    assert made.taken_step_s == pytest.approx(step)


@pytest.mark.parametrize(
    ("exposure", "seconds"),
    [((1, 30), 1 / 30), ((1, 2), 0.5), ((0, 1), 0.0), ((1, 0), 0.0), ((90, 1), 0.0)],
)
def test_exposure(exposure: tuple[int, int], seconds: float) -> None:
    made = PICTURES.decode(picture({0x829A: IFDRational(*exposure)}), "a")
    assert made.exposure_s == pytest.approx(seconds)


def test_without_tags() -> None:
    made = PICTURES.decode(picture({}), "a")
    assert (made.taken_step_s, made.exposure_s) == (1.0, 0.0)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_copy_keeps_when_and_with_what_and_nothing_else(kind: str) -> None:
    """Exif 2.32: 0x0112 Orientation, 0x8825 GPS, 0x927C MakerNote, 0xA002/3 the size; IFD1 would
    hold the preview."""
    exif = Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x010E] = 6, "Tinbrook", "a secret note"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    exif.get_ifd(0x8769).update(
        {
            0x9003: "2026:03:17 21:40:05", 0x9011: "+01:00", 0x9291: "25", 0x927C: b"maker",
            0x829A: IFDRational(1, 30), 0x9286: b"comment",
        }
    )  # fmt: skip
    pixels = np.zeros((40, 60, 3), np.uint8)
    pixels[:20] = (250, 20, 20)
    buffer = io.BytesIO()
    if kind == "HEIF":
        made = pillow_heif.from_pillow(Image.fromarray(pixels))
        made.save(buffer, exif=exif.tobytes(), quality=90)
    else:
        Image.fromarray(pixels).save(buffer, kind, exif=exif)
    seen = PICTURES.decode(buffer.getvalue(), "a")
    data = PICTURES.encode_like(seen.pixels, buffer.getvalue(), "a")
    assert data == PICTURES.encode_like(seen.pixels, buffer.getvalue(), "a")
    copy = PICTURES.decode(data, "b")
    assert copy.pixels.shape == seen.pixels.shape
    assert np.abs(copy.pixels.astype(int) - seen.pixels).mean() < 3
    assert (copy.taken, copy.taken_step_s) == (seen.taken, 0.01)
    assert copy.exposure_s == pytest.approx(1 / 30)
    kept = Image.open(io.BytesIO(data)).getexif()
    height, width = seen.pixels.shape[:2]
    assert kept[0x0112] == 1 and kept[0x010F] == "Tinbrook" and 0x010E not in kept
    inner = kept.get_ifd(0x8769)
    assert (inner[0xA002], inner[0xA003]) == (width, height)
    assert not kept.get_ifd(0x8825) and not {0x927C, 0x9286} & set(inner)
    for secret in (b"secret note", b"maker", b"comment"):
        assert secret not in data


def test_a_frame_s_copy_is_still_known_as_a_frame() -> None:
    frame = ClipFrame("a" * 64, 2.5, datetime(2026, 7, 1, 10, 0, tzinfo=UTC), 9.0)
    data = PICTURES.encode_jpeg(np.zeros((8, 8, 3), np.uint8), frame=frame)
    copy = PICTURES.encode_like(PICTURES.decode(data, "a").pixels, data, "a")
    assert PICTURES.decode(copy, "a").frame == PICTURES.decode(data, "a").frame
