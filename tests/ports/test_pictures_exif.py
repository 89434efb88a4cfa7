"""How fine a capture time is, and the exposure: tags written by Pillow as Exif 2.32 (CIPA DC-008)
defines them (0x9291 SubSecTimeOriginal: digits; 0x829A ExposureTime: a rational, seconds)."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from asfound.ports.backends.pictures_pillow import PillowPictures

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
