"""Photographs of a simulated recorder go into a visit through the real reader."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.visit_kit import VEHICLE, desk, procedure

from asfound.demo.photos import Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TUNING_THEMES
from asfound.errors import GateShut, NotFound, UsageError
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_read import ReadTools, VisitRead, visit_read
from asfound.model.menu_map import MenuMap
from asfound.model.reading import State
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures

ABOUT, JOLTS = "about", "jolts"


@pytest.fixture(scope="module")
def menu_map() -> MenuMap:
    return load_map(shipped_map_paths()["marrowby-four"])


@pytest.fixture(scope="module")
def tools() -> ReadTools:
    return ReadTools(PillowPictures(), RapidOcr())


def photographs(menu_map: MenuMap, firmware: str, folder: Path, *pages: str) -> dict[str, Path]:
    """Clean photographs of some pages, whose version page shows ``firmware``."""
    values = random_values(menu_map, firmware, np.random.default_rng(5))
    values["about.version"] = firmware
    session = Session(TUNING_THEMES[0], "clean", 5, pages=frozenset(pages))
    return {
        photo.page_id: photo.path for photo in shoot(menu_map, values, firmware, session, folder)
    }


def opened(at: Desk, menu_map: MenuMap, firmware: str) -> str:
    fitted = replace(VEHICLE.recorder, map_id=menu_map.id, firmware=firmware)
    request = OpenVisit(replace(VEHICLE, recorder=fitted), "F", "UTC", procedure(), menu_map, "ada")
    return open_visit(request, store=at.store, blobs=at.blobs, clock=at.clock).id


def test_photographs_become_a_reading_page_by_page(
    menu_map: MenuMap, tools: ReadTools, tmp_path: Path
) -> None:
    at = desk(tmp_path)
    # The fleet file says 2.01; the recorder's own version page says 2.03, and is right.
    visit = opened(at, menu_map, "2.01")
    photos = photographs(menu_map, "2.03", tmp_path / "photos", ABOUT, JOLTS)
    first = VisitRead(visit, menu_map, (photos[ABOUT],), "ada")
    with pytest.raises(GateShut, match="earlier steps not done"):
        visit_read(first, desk=at, tools=tools)
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=at)
    state = visit_read(first, desk=at, tools=tools)
    assert (state.firmware_found, state.firmware_left) == ("2.03", "2.03")
    state = visit_read(replace(first, photos=(photos[JOLTS],)), desk=at, tools=tools)
    reading = state.as_found
    assert reading is not None and not state.is_done("read")
    assert {photo.page for photo in reading.photos} == {ABOUT, JOLTS}
    assert {page.id for page in menu_map.pages} - {ABOUT, JOLTS} >= set(reading.missing_pages)
    read = {field.id for field in reading.fields if field.state is State.SURE}
    assert "about.version" in read and any(name.startswith("jolts.") for name in read)
    # The same bytes again count once.
    state = visit_read(first, desk=at, tools=tools)
    assert state.as_found is not None and len(state.as_found.photos) == 2
    found = check_visit(visit, store=at.store, blobs=at.blobs)
    assert found.faults == () and at.blobs.get(reading.photos[0].sha256)


def test_files_that_are_missing_change_nothing(
    menu_map: MenuMap, tools: ReadTools, tmp_path: Path
) -> None:
    at = desk(tmp_path)
    visit = opened(at, menu_map, "2.03")
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=at)
    before = load_visit(visit, store=at.store, blobs=at.blobs)
    missing = VisitRead(visit, menu_map, (tmp_path / "none.jpg",), "ada")
    with pytest.raises(NotFound):
        visit_read(missing, desk=at, tools=tools)
    assert load_visit(visit, store=at.store, blobs=at.blobs) == before


def test_a_firmware_that_the_map_does_not_describe_is_told(
    menu_map: MenuMap, tools: ReadTools, tmp_path: Path
) -> None:
    at = desk(tmp_path)
    visit = opened(at, menu_map, "2.01")
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=at)
    photos = photographs(menu_map, "2.03", tmp_path / "photos", ABOUT)
    older = replace(menu_map, firmware=("1.08", "1.12", "2.01"))
    with pytest.raises(UsageError, match=r"shows firmware 2\.03, which menu map marrowby-four"):
        visit_read(VisitRead(visit, older, (photos[ABOUT],), "ada"), desk=at, tools=tools)
