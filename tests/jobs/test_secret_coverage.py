"""The areas that are painted over hold the whole secret on hard photographs: the simulator knows
where it drew each value."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from asfound.demo.photos import Photo, Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TUNING_THEMES
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.model.kinds import Secret
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures


def upright(photo: Photo, points: np.ndarray) -> np.ndarray:
    """Points of the file as stored, where a viewer that obeys the orientation tag shows them
    (CIPA DC-008, tag 0x0112)."""
    with Image.open(photo.path) as image:
        width, height = image.size
    x, y = points[:, 0], points[:, 1]
    match photo.orientation or 1:
        case 3:
            x, y = width - x, height - y
        case 6:
            x, y = height - y, x
        case 8:
            x, y = y, width - x
    return np.column_stack([x, y])


def depth(outline: object, point: np.ndarray) -> float:
    """How far inside an outline a point lies, in pixels; negative outside."""
    at = (float(point[0]), float(point[1]))
    return float(cv2.pointPolygonTest(np.array(outline, np.float32), at, True))


def test_a_secret_is_covered_and_its_neighbours_are_not(tmp_path: Path) -> None:
    menu_map = load_map(shipped_map_paths()["quillfen-octad"])
    firmware = menu_map.firmware[-1]
    secrets = {field.id for field in menu_map.fields if isinstance(field.type, Secret)}
    covered = 0
    for seed, pages in ((101, {"unit", "wireless"}), (103, {"unit", "reporting"})):
        values = random_values(menu_map, firmware, np.random.default_rng(seed))
        values |= dict.fromkeys(secrets, "set")
        session = Session(
            TUNING_THEMES[seed % len(TUNING_THEMES)], "hard", seed, pages=frozenset(pages),
            size=(2000, 1500),
        )  # fmt: skip
        photos = shoot(menu_map, values, firmware, session, tmp_path / str(seed))
        reading = read_pages(
            ReadPages(menu_map, tuple(photo.path for photo in photos), firmware),
            pictures=PillowPictures(), ocr=RapidOcr(threads=2), blobs=FileBlobs(tmp_path / "b"),
            clock=SystemClock(),
        )  # fmt: skip
        for photo, read in zip(photos, reading.photos, strict=True):
            if read.page is None:
                assert [spot.outline for spot in read.secrets] == [None]
                continue
            assert {spot.field for spot in read.secrets} == secrets & set(photo.truth)
            for spot in read.secrets:
                if spot.outline is None:
                    continue
                true = upright(photo, np.array(photo.boxes[spot.field]))
                least = min(depth(spot.outline, corner) for corner in true)
                assert least >= -1.0, (seed, spot, true.tolist())
                covered += 1
                for name, box in photo.boxes.items():
                    if name not in secrets:
                        middle = upright(photo, np.array(box)).mean(axis=0)
                        assert depth(spot.outline, middle) < 0, (seed, spot, name)
    assert covered >= 3
    # Reading stores the photographs as they came, and no part of any.
    kept = sorted(path.read_bytes() for path in (tmp_path / "b").rglob("*") if path.is_file())
    assert kept == sorted(path.read_bytes() for path in tmp_path.rglob("*.jpg"))
