"""The picture of a field, and that a secret beside it is never on it."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
from PIL import Image
from tests.visit_kit import MAP

from asfound.calc.secret_areas import secret_spots
from asfound.jobs.field_picture import FieldPictures
from asfound.model.reading import Box, FieldReading, PhotoReading, Reading, SecretSpot, State
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.pictures_pillow import PillowPictures

NAME: Box = ((100.0, 50.0), (200.0, 50.0), (200.0, 80.0), (100.0, 80.0))
CODE: Box = ((100.0, 98.0), (200.0, 98.0), (200.0, 128.0), (100.0, 128.0))


def views(folder: Path, code: Box | None, scale: int = 1) -> tuple[FieldPictures, str]:
    """A photograph that is green, blue where the name stands and red where the code does."""
    pixels = np.zeros((200 * scale, 300 * scale, 3), np.uint8)
    pixels[:, :, 1] = 120
    pixels[50 * scale : 80 * scale, 100 * scale : 200 * scale] = (0, 0, 255)
    pixels[98 * scale : 128 * scale, 100 * scale : 200 * scale] = (255, 0, 0)
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG")
    blobs = FileBlobs(folder)
    photo = blobs.put(out.getvalue())
    fields = (
        FieldReading("general.name", "Name", "?", "A", State.DOUBT, ("A",), NAME, photo),
        FieldReading("general.code", "Code", "", "set", State.SURE, ("set",), code, photo),
    )
    spots = secret_spots(fields, {"general.code"}, (300 * scale, 200 * scale))
    if code is None:
        # Its neighbour tells nothing either: nobody knows where it stands.
        spots = (SecretSpot("general.code", None),)
    shot = PhotoReading("a.png", photo, "general", 0.1, fields, secrets=spots)
    reading = Reading(MAP.id, "1.0", (shot,), fields, ())
    return FieldPictures(reading, pictures=PillowPictures(), blobs=blobs), photo


def reds(pixels: np.ndarray) -> int:
    return int(np.count_nonzero((pixels[:, :, 0] > 150) & (pixels[:, :, 2] < 100)))


def test_a_value_is_cut_out_and_the_secret_below_it_painted_over(tmp_path: Path) -> None:
    made, photo = views(tmp_path, CODE)
    crop = made.crop(photo, NAME, 0.0)
    assert crop is not None and crop.shape[:2] == (30, 100)
    assert np.all(crop[2:-2, 2:-2] == (0, 0, 255))
    around, whole = made.crop(photo, NAME, 2.0), made.whole(photo, 150)
    assert around is not None and whole is not None
    assert reds(around) == 0 and reds(whole) == 0 and max(whole.shape) == 150


def test_a_secret_whose_place_is_unknown_keeps_the_picture_narrow(tmp_path: Path) -> None:
    made, photo = views(tmp_path, None)
    around = made.crop(photo, NAME, 5.0)
    # Common practice, no source: rows of a menu are more than half a letter's height apart.
    assert around is not None and around.shape[0] <= 30 * 1.7 + 1
    assert made.whole(photo) is None


def test_boxes_are_those_of_the_full_photograph(tmp_path: Path) -> None:
    # 6000 pixels wide: opened at 4096, boxes still fit.
    made, photo = views(tmp_path, CODE, scale=20)
    a, b, c, d = ((x * 20, y * 20) for x, y in NAME)
    crop = made.crop(photo, (a, b, c, d), 0.0)
    assert crop is not None and np.mean(crop[:, :, 2] > 200) > 0.97


def test_what_is_not_there_gives_no_picture(tmp_path: Path) -> None:
    made, photo = views(tmp_path, CODE)
    assert made.crop("", NAME) is None and made.crop("0" * 64, NAME) is None
    path = tmp_path / photo[:2] / photo[2:]
    path.chmod(0o644)
    path.write_bytes(b"no picture")
    assert made.crop(photo, NAME) is None
