"""A vehicle's pages in a browser: the photograph of where the recorder sits, with the page's
script and without, what a lost connection leaves in the form, and what changed when.

axe-core (MPL 2.0, from its package) looks at every page.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, expect
from tests.journeys.test_pages_visit import SIZES, Server, look_in_both_themes, watch
from tests.pages_kit import free_port
from tests.worked_visit import BY, fleet_home, up_to_slips

from asfound.demo.scenario import VEHICLE
from asfound.jobs.visit_journal import Book


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The pages over a closed visit of the bus."""
    folder = tmp_path_factory.mktemp("home")
    home = fleet_home(folder)
    # Closing has gates of its own, tested elsewhere.
    Book(up_to_slips(home), home.desk()).write(BY, "closed", {"step": "close", "note": ""})
    made = Server(folder, free_port())
    made.start()
    yield made
    made.kill()


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("phone") / "seat.jpg"
    ramp = np.linspace(20, 220, 1200, dtype=np.uint8)
    Image.fromarray(np.dstack([np.tile(ramp, (800, 1))] * 3)).save(path)
    return path


@pytest.mark.parametrize("kind", ["phone", "laptop"])
def test_a_photograph_of_the_place_and_the_history(
    browser: Browser, server: Server, photo: Path, kind: str
) -> None:
    width, height = SIZES[kind]
    context = browser.new_context(
        viewport={"width": width, "height": height},
        locale="en-GB",
        reduced_motion="reduce",
    )
    page = context.new_page()
    said = watch(page)
    page.goto(f"{server.address}/vehicles/{VEHICLE}")
    page.locator("summary").filter(has_text="photograph of the place").click()
    look_in_both_themes(page, "vehicle-place-form", kind)
    page.get_by_label("Photograph, up to 100 MB").set_input_files(photo)
    page.locator("#by-place").fill("Ines Okafor")
    page.get_by_role("button", name="Keep it").click()
    # What was sent is on the page when its main part has the focus.
    expect(page.locator("#main")).to_be_focused()
    shown = page.get_by_role("img", name="Where the recorder of vehicle")
    expect(shown).to_be_visible()
    assert shown.evaluate("image => image.decode().then(() => image.naturalWidth)") > 0
    look_in_both_themes(page, "vehicle-place", kind)
    page.goto(f"{server.address}/vehicles/{VEHICLE}/open")
    expect(page.get_by_role("img", name="Where the recorder of vehicle")).to_be_visible()
    look_in_both_themes(page, "open-place", kind)
    page.goto(f"{server.address}/vehicles/{VEHICLE}")
    page.get_by_role("link", name="What changed when").click()
    page.get_by_role("heading", name="What changed when", level=1).wait_for()
    # The demonstration's technician keys one camera's size wrong and forgets a trigger.
    assert page.locator("table.settings tbody tr").count() >= 1
    look_in_both_themes(page, "history", kind)
    assert said == []
    context.close()


def test_a_photograph_that_could_not_be_sent_stays_in_the_form(
    browser: Browser, server: Server, photo: Path
) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{server.address}/vehicles/41")
    page.locator("summary").filter(has_text="photograph of the place").click()
    page.get_by_label("Photograph, up to 100 MB").set_input_files(photo)
    page.locator("#by-place").fill("Ines Okafor")
    server.kill()
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("No connection to the laptop")).to_be_visible()
    kept = page.locator("#place-photo").evaluate("field => field.files.length")
    assert kept == 1
    server.start()
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("img", name="Where the recorder of vehicle 41")).to_be_visible()
    context.close()


def test_a_photograph_without_a_script(browser: Browser, server: Server, photo: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{server.address}/vehicles/305")
    page.locator("summary").filter(has_text="photograph of the place").click()
    page.get_by_label("Photograph, up to 100 MB").set_input_files(photo)
    page.locator("#by-place").fill("Ines Okafor")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("img", name="Where the recorder of vehicle 305")).to_be_visible()
    page.locator("summary").filter(has_text=re.compile("photograph of the place")).click()
    page.get_by_role("button", name="Take the photograph away").click()
    expect(page.get_by_role("img", name="Where the recorder")).to_have_count(0)
    context.close()
