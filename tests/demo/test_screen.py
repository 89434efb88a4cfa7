"""Drawn menu pages: repeatable, complete, within the picture, and legible to another program."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from rapidocr import RapidOCR
from rapidocr.ch_ppocr_rec import TextRecOutput

from asfound.demo import fonts
from asfound.demo.composite import soften
from asfound.demo.random_values import random_values
from asfound.demo.screen import DrawnPage, draw_page, render_page
from asfound.demo.themes import TEST_THEMES, TUNING_THEMES, Composite, Theme
from asfound.errors import MissingPart
from asfound.model.menu_map import MenuMap
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

THEMES = TUNING_THEMES + TEST_THEMES
MAPS = {name: load_map(path) for name, path in shipped_map_paths().items()}


def values_of(menu_map: MenuMap, version: str, seed: int = 1) -> dict[str, str]:
    return random_values(menu_map, version, np.random.default_rng(seed))


def drawn(theme: Theme, page_id: str, name: str = "quillfen-octad") -> DrawnPage:
    menu_map = MAPS[name]
    version = menu_map.firmware[-1]
    values = values_of(menu_map, version)
    return draw_page(menu_map, menu_map.page(page_id), values, version, theme, 1, "12:34:56")


def named(theme: Theme) -> str:
    return theme.name


@pytest.mark.parametrize("theme", THEMES, ids=named)
def test_the_same_page_is_drawn_twice_alike(theme: Theme) -> None:
    first, again = drawn(theme, "shock").pixels, drawn(theme, "shock").pixels
    assert first.shape == (theme.size[1], theme.size[0], 3)
    assert first.dtype == np.uint8
    assert np.array_equal(first, again)


@pytest.mark.parametrize("theme", THEMES[1:11:9], ids=named)
@pytest.mark.parametrize("name", MAPS)
def test_every_field_of_the_firmware_stands_on_its_page(theme: Theme, name: str) -> None:
    menu_map = MAPS[name]
    ranks = {version: rank for rank, version in enumerate(menu_map.firmware)}
    for version in menu_map.firmware:
        values = values_of(menu_map, version, seed=2)
        for page in menu_map.pages:
            # The rule of since and until, written out again.
            expected = [
                field.id
                for field in page.fields
                if ranks[field.since or menu_map.firmware[0]] <= ranks[version]
                and (field.until is None or ranks[version] < ranks[field.until])
            ]
            page_drawn = draw_page(menu_map, page, values, version, replace(theme, composite=None))
            assert [row.field_id for row in page_drawn.rows] == expected


@pytest.mark.parametrize("theme", THEMES, ids=named)
@pytest.mark.parametrize("name", MAPS)
def test_rows_fit_and_do_not_overlap(theme: Theme, name: str) -> None:
    menu_map = MAPS[name]
    version = menu_map.firmware[-1]
    values = values_of(menu_map, version, seed=3)
    for page in menu_map.pages:
        page_drawn = draw_page(menu_map, page, values, version, replace(theme, composite=None))
        assert page_drawn.text_px >= 18
        bottom = 0.0
        for row in page_drawn.rows:
            left, top, right, low = row.value_box
            assert theme.size[0] * 0.05 < left <= right <= theme.size[0] * 0.95, row
            assert bottom <= top < low <= theme.size[1]
            bottom = low


@pytest.mark.parametrize("theme", THEMES, ids=named)
def test_a_changed_value_changes_its_own_row_only(theme: Theme) -> None:
    menu_map = MAPS["marrowby-four"]
    page = menu_map.page("keeping")
    values = values_of(menu_map, "2.03")
    before = draw_page(menu_map, page, {**values, "keeping.parts": "8"}, "2.03", theme)
    after = draw_page(menu_map, page, {**values, "keeping.parts": "25"}, "2.03", theme)
    rows = np.flatnonzero(np.any(before.pixels != after.pixels, axis=(1, 2)))
    (box,) = (row.value_box for row in after.rows if row.field_id == "keeping.parts")
    assert rows.size
    assert box[1] - 3 <= rows.min() <= rows.max() <= box[3] + 3


def test_the_cursor_and_the_clock_are_seen() -> None:
    menu_map = MAPS["quillfen-octad"]
    page, values = menu_map.page("power"), values_of(menu_map, "4.0.2")
    for theme in THEMES:
        plain = render_page(menu_map, page, values, "4.0.2", theme)
        clock = render_page(menu_map, page, values, "4.0.2", theme, None, "12:34:56")
        first = render_page(menu_map, page, values, "4.0.2", theme, 0)
        save = render_page(menu_map, page, values, "4.0.2", theme, 7)
        pictures = [plain, clock, first, save]
        for index, one in enumerate(pictures):
            assert all(not np.array_equal(one, other) for other in pictures[index + 1 :])


def test_a_missing_value_is_not_passed_over() -> None:
    menu_map = MAPS["marrowby-four"]
    with pytest.raises(KeyError, match=r"supply\.wait"):
        draw_page(menu_map, menu_map.page("supply"), {"supply.cut-12": "11.5",
                  "supply.cut-24": "23.0"}, "2.03", THEMES[0])  # fmt: skip


def test_tuning_and_test_themes_share_neither_font_nor_colours() -> None:
    tuning, test = ({theme.font for theme in some} for some in (TUNING_THEMES, TEST_THEMES))
    assert not tuning & test
    looks = [{theme.palette for theme in some} for some in (TUNING_THEMES, TEST_THEMES)]
    assert not looks[0] & looks[1]
    assert {theme.size for theme in THEMES} >= {
        (720, 576), (720, 480), (800, 480), (1024, 600), (1280, 720),
    }  # fmt: skip


@pytest.mark.parametrize("theme", [TUNING_THEMES[4], TEST_THEMES[0], TEST_THEMES[1]], ids=named)
def test_another_program_reads_what_is_said_to_be_drawn(theme: Theme) -> None:
    """A text recogniser that knows nothing of the map reads the factory values off the page."""
    menu_map = MAPS["quillfen-octad"]
    page = menu_map.page("journey")
    values = {field.id: menu_map.default(field, "4.0.2") or "" for field in page.fields}
    page_drawn = draw_page(menu_map, page, values, "4.0.2", theme)
    engine = RapidOCR()
    for row in page_drawn.rows:
        x0, y0, x1, y1 = (round(edge) for edge in row.value_box)
        crop = np.ascontiguousarray(page_drawn.pixels[y0 : y1 + 1, x0 - 4 : x1 + 5, ::-1])
        read = engine(crop, use_det=False, use_cls=False, use_rec=True)
        assert isinstance(read, TextRecOutput)
        assert read.txts
        text = read.txts[0]
        # Case and spaces apart: a lone "o" or a narrow space says nothing about the drawing.
        assert text.replace(" ", "").lower() == row.value.replace(" ", "").lower()


def test_a_composite_output_is_soft_across_and_sharp_down() -> None:
    """An analogue signal limits detail along a line, not between lines (common practice, no
    source: lines are sent one after another)."""
    bars = np.zeros((64, 64, 3), np.uint8)
    bars[:, ::4] = bars[:, 1::4] = 255
    lying = np.ascontiguousarray(bars.transpose(1, 0, 2))
    clean = Composite(luma=1.2, chroma=2.0, ringing=0.0, crawl=0.0)
    assert soften(bars, clean).std() < 0.6 * bars.std()
    assert soften(lying, clean).std() == pytest.approx(lying.std(), rel=0.02)


def test_a_composite_output_smears_colour_more_than_light() -> None:
    edge = np.zeros((32, 64, 3), np.uint8)
    edge[:, :32] = (200, 30, 30)
    edge[:, 32:] = (30, 30, 200)
    soft = cv2.cvtColor(soften(edge, Composite(ringing=0.0, crawl=0.0)), cv2.COLOR_RGB2YCrCb)
    hard = cv2.cvtColor(edge, cv2.COLOR_RGB2YCrCb)
    changed = [np.count_nonzero(np.abs(soft[16, :, k].astype(int) - hard[16, :, k]) > 6)
               for k in range(3)]  # fmt: skip
    assert changed[1] > changed[0]


def test_a_missing_font_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(fonts, "FOLDERS", (str(tmp_path),))
    fonts.font_path.cache_clear()
    try:
        with pytest.raises(MissingPart, match=r"unifont\.otf.*apt-get install.*fonts-unifont"):
            fonts.font_path("unifont.otf")
    finally:
        fonts.font_path.cache_clear()


def test_every_theme_font_has_a_package() -> None:
    wanted = {name for theme in THEMES for name in (theme.font, theme.title_font)}
    assert wanted <= set(fonts.PACKAGES)
