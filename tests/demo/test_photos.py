"""A photographed menu: one file a page, with a truth that another program can confirm."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
from rapidocr import RapidOCR
from rapidocr.ch_ppocr_rec import TextRecOutput

from asfound.demo.photos import Photo, Session, shoot, shoot_menu
from asfound.demo.random_values import random_values
from asfound.demo.themes import TEST_THEMES, TUNING_THEMES, Theme
from asfound.model.menu_map import MenuMap
from asfound.model.values import shown
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

FOUR = load_map(shipped_map_paths()["marrowby-four"])
OCTAD = load_map(shipped_map_paths()["quillfen-octad"])


BASE = Session(
    TUNING_THEMES[1], seed=3, start=datetime(2026, 3, 29, 0, 59, 50, tzinfo=UTC), size=(1632, 1224)
)


def test_one_file_a_page_of_that_firmware_in_order(tmp_path: Path) -> None:
    wanted = frozenset({"channel-2", "jolts", "about"})
    values = random_values(FOUR, "1.08", np.random.default_rng(1))
    photos = shoot(FOUR, values, "1.08", replace(BASE, pages=wanted), tmp_path)
    assert [photo.page_id for photo in photos] == ["channel-2", "jolts", "about"]
    assert sorted(photo.path for photo in photos) == [photo.path for photo in photos]
    for photo in photos:
        fields = FOUR.page_fields(FOUR.page(photo.page_id), "1.08")
        assert photo.truth == {field.id: values[field.id] for field in fields}
        assert set(photo.boxes) == set(photo.truth)
        assert photo.path.read_bytes()[:2] == b"\xff\xd8"


def test_a_whole_menu_is_photographed(tmp_path: Path) -> None:
    little = MenuMap("little", "Nobody", "None", 4, FOUR.firmware, FOUR.pages[4:7], FOUR.keys)
    values = random_values(FOUR, "1.08", np.random.default_rng(2))
    photos = shoot_menu(little, values, "1.08", TUNING_THEMES[3], "hard", 11, tmp_path)
    assert [photo.page_id for photo in photos] == ["keeping", "marking", "jolts"]
    fields = {name for photo in photos for name in photo.truth}
    # Ten, four (sealing came later) and five rows, counted in the map's file.
    assert len(fields) == sum(len(photo.truth) for photo in photos) == 10 + 4 + 5


def test_running_values_show_the_recorder_s_clock(tmp_path: Path) -> None:
    values = random_values(OCTAD, "4.0.2", np.random.default_rng(1))
    taken = replace(BASE, pages=frozenset({"clock"}), clock_offset_s=75.0)
    (photo,) = shoot(OCTAD, values, "4.0.2", taken, tmp_path)
    # Page 20 of 22 is photographed 19 x 11 s after the start; the recorder is 75 s ahead.
    assert photo.taken == datetime(2026, 3, 29, 1, 3, 19, tzinfo=UTC)
    assert photo.truth["clock.time"] == "01:04:34"
    assert photo.truth["clock.date"] == "2026-03-29"
    assert photo.truth["clock.now"] == "29.03.2026 01:04:34"


def crop(photo: Photo, field_id: str) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """The value's text cut out of the file upright, by the box of the truth (BGR)."""
    stored = cv2.imread(str(photo.path), cv2.IMREAD_COLOR_BGR | cv2.IMREAD_IGNORE_ORIENTATION)
    assert stored is not None
    box = np.array(photo.boxes[field_id], np.float32)
    wide, high = (float(np.linalg.norm(box[index] - box[index - 1])) for index in (1, 2))
    pad = 0.25 * high
    ends = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float32) + pad
    turn = cv2.getPerspectiveTransform(box, ends.astype(np.float32))
    size = (round(wide + 2 * pad), round(high + 2 * pad))
    return np.asarray(cv2.warpPerspective(stored, turn, size, flags=cv2.INTER_CUBIC), np.uint8)


@pytest.mark.parametrize("theme", [TUNING_THEMES[0], TEST_THEMES[1]], ids=lambda item: item.name)
def test_another_program_reads_the_truth_from_clean_photographs(
    tmp_path: Path, theme: Theme
) -> None:
    """A text recogniser reads the factory values where the truth says that they stand."""
    version = "2.03"
    values = random_values(FOUR, version, np.random.default_rng(1))
    for field in FOUR.fields_in(version):
        values[field.id] = FOUR.default(field, version) or values[field.id]
    pages = frozenset({"keeping", "driving"})
    photos = shoot(FOUR, values, version, replace(BASE, theme=theme, pages=pages), tmp_path)
    engine = RapidOCR()
    for photo in photos:
        for name, value in photo.truth.items():
            read = engine(crop(photo, name), use_det=False, use_cls=False, use_rec=True)
            assert isinstance(read, TextRecOutput)
            assert read.txts
            expected = shown(FOUR.field(name).type, value)
            assert read.txts[0].replace(" ", "").lower() == expected.replace(" ", "").lower()
