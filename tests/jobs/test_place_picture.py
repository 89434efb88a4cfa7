"""Where a recorder sits, as a photograph: kept by its content, replaced, taken away."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from tests.visit_kit import VEHICLE, desk

from asfound.errors import NotFound, PictureError, StorageError, UsageError
from asfound.jobs.place_picture import (
    MOST_BYTES,
    SHOWN_PX,
    SMALL_PX,
    TakePlacePicture,
    drop_place_picture,
    place_jpeg,
    place_picture,
    take_place_picture,
)
from asfound.jobs.visit_journal import Desk
from asfound.ports.backends.pictures_pillow import PillowPictures

PICTURES = PillowPictures()
GPS_TAG = 0x8825  # Exif 2.32, table 4: GPS information
ORIENTATION = 0x0112


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def photo(width: int = 2000, height: int = 1000, shade: int = 90) -> bytes:
    """A sideways photograph as phones write it, with the place where it was taken."""
    made = Image.fromarray(np.full((height, width, 3), shade, np.uint8))
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # turned by a quarter
    exif.get_ifd(GPS_TAG)[1] = "N"
    out = io.BytesIO()
    made.save(out, "JPEG", exif=exif)
    return out.getvalue()


def take(at: Desk, data: bytes, by: str = "ada") -> str:
    request = TakePlacePicture(VEHICLE, data, "seat.jpg", by)
    return take_place_picture(request, desk=at, pictures=PICTURES).picture


def test_the_newest_counts_and_earlier_ones_stay(at: Desk) -> None:
    assert place_picture(VEHICLE, store=at.store) is None
    first, second = take(at, photo()), take(at, photo(shade=200), "bo")
    known = place_picture(VEHICLE, store=at.store)
    assert known is not None and (known.picture, known.by) == (second, "bo")
    assert at.blobs.get(first) == photo(), "what came is kept to the byte"
    assert [item.picture for item in at.store.place_pictures("217")] == [second, first]


def test_what_is_shown_is_upright_small_and_says_nothing_of_the_phone(at: Desk) -> None:
    name = take(at, photo())
    for small, longest in ((False, SHOWN_PX), (True, SMALL_PX)):
        data = place_jpeg(VEHICLE, name, desk=at, pictures=PICTURES, small=small)
        shown = Image.open(io.BytesIO(data))
        # Orientation 6: the 2000 x 1000 that were stored are 1000 x 2000 to look at.
        assert shown.height == longest and shown.width == longest // 2
        assert not shown.getexif()


def test_only_the_one_that_counts_is_shown(at: Desk) -> None:
    first = take(at, photo())
    take(at, photo(shade=200))
    secret = at.blobs.put(photo(shade=10))
    for name in (first, secret, "0" * 64, "../217"):
        with pytest.raises(NotFound, match="not the present one"):
            place_jpeg(VEHICLE, name, desk=at, pictures=PICTURES)


def test_it_is_taken_away_and_can_be_taken_anew(at: Desk) -> None:
    name = take(at, photo())
    drop_place_picture(VEHICLE, "bo", desk=at)
    assert place_picture(VEHICLE, store=at.store) is None
    with pytest.raises(NotFound, match="no photograph"):
        drop_place_picture(VEHICLE, "bo", desk=at)
    with pytest.raises(NotFound):
        place_jpeg(VEHICLE, name, desk=at, pictures=PICTURES)
    assert take(at, photo()) == name
    assert place_picture(VEHICLE, store=at.store) is not None


@pytest.mark.parametrize(
    ("data", "by", "error"),
    [
        (b"no picture at all", "ada", PictureError),
        (photo()[:3000], "ada", PictureError),
        (b"", "ada", UsageError),
        (photo(), " ", UsageError),
    ],
)
def test_what_is_no_photograph_is_refused_and_nothing_kept(
    at: Desk, data: bytes, by: str, error: type[Exception]
) -> None:
    with pytest.raises(error):
        take(at, data, by)
    assert at.store.place_pictures("217") == []


def test_what_is_too_large_is_refused_before_it_is_looked_at(at: Desk) -> None:
    with pytest.raises(UsageError, match="1 to 100 MB"):
        take(at, bytes(MOST_BYTES + 1))


def test_a_full_disk_names_nothing_that_is_not_there(
    at: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(data: bytes) -> str:
        raise StorageError("the disk is full")

    monkeypatch.setattr(at.blobs, "put", full)
    with pytest.raises(StorageError):
        take(at, photo())
    assert at.store.place_pictures("217") == []
