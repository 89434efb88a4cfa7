"""A recorder's supply in a browser, as beside a lorry with a phone: parked battery, starts of the
engine, voltages that were measured; in both sizes and both themes, and without a script.

axe-core (MPL 2.0, from its package) looks at every page.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.journeys.test_pages_visit import Server
from tests.pages_kit import free_port, look_everywhere, seat
from tests.worked_visit import fleet_home


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The pages over a fleet."""
    folder = tmp_path_factory.mktemp("home")
    fleet_home(folder)
    made = Server(folder, free_port())
    made.start()
    yield made
    made.kill()


def fill(page: Page, fields: dict[str, str]) -> None:
    for name, value in fields.items():
        page.locator(f"[id='{name}']").fill(value)


def test_parked(browser: Browser, server: Server) -> None:
    with seat(browser, "phone", "light") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench")
        page.get_by_role("link", name="Parked battery").click()
        told = look_everywhere(page, "power-parked-empty")
        fill(page, {"battery": "170Ah", "rest_volts": "25,1", "run_on": "8h", "parked": "62h"})
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator(".answer")).to_contain_text("Enough for a start is left for")
        fill(page, {"run_on_draws": "30W", "vehicle_draws": "0.4A", "cut_off": "23V"})
        fill(page, {"celsius": "-15"})
        page.get_by_role("button", name="Work it out").click()
        # On a phone the answer is on the screen at once, the form is above it.
        expect(page.locator(".answer")).to_be_in_viewport()
        expect(page.locator(".findings")).to_contain_text("a cut-off at 23 V acts at")
        expect(page.get_by_role("img")).to_be_visible()
        told += look_everywhere(page, "power-parked")
        page.locator("[id=battery]").fill("many")
        page.get_by_role("button", name="Work it out").click()
        expect(page.get_by_role("alert")).to_contain_text("battery: 'many' is no figure")
        expect(page.locator("[id=celsius]")).to_have_value("-15")
        assert told == []


def test_crank(browser: Browser, server: Server) -> None:
    with seat(browser, "laptop", "light") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench/power")
        page.get_by_role("link", name="Starting the engine").click()
        page.get_by_label("The recorder's code").select_option("H")
        fill(page, {"hold_up": "200ms", "boot": "45s"})
        page.get_by_role("button", name="Work it out").click()
        expect(page.get_by_role("row", name="II ").first).to_contain_text("drops out")
        expect(page.get_by_text("load dump, suppressed")).to_be_visible()
        told = look_everywhere(page, "power-crank")
        assert told == []


def test_volts_step_by_step(browser: Browser, server: Server) -> None:
    """Nothing at the plug: the page says what to measure next, until one cause is left."""
    with seat(browser, "phone", "light") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench/power/volts")
        told = look_everywhere(page, "power-volts-empty")
        fill(page, {"battery-on": "25.2", "plug-on": "0"})
        page.get_by_role("button", name="Judge the readings").click()
        expect(page.get_by_role("heading", name="Measure next")).to_be_visible()
        told += look_everywhere(page, "power-volts-open")
        fill(page, {"fuse-in-on": "25.1", "fuse-out-on": "0"})
        page.get_by_role("button", name="Judge the readings").click()
        cause = page.locator("article.cause").first
        expect(cause).to_contain_text("Fuse blown or missing")
        expect(cause).to_contain_text("behind the fuse: 0 V, below 2 V")
        expect(cause).to_contain_text("Source: common practice, no source")
        told += look_everywhere(page, "power-volts")
        assert told == []


def test_without_a_script(browser: Browser, server: Server) -> None:
    context = browser.new_context(java_script_enabled=False, locale="en-GB")
    page = context.new_page()
    page.goto(f"{server.address}/bench/power/volts?system=12V&battery-off=11.6")
    assert "Battery flat" in page.locator("article.cause").inner_text()
    assert "orange" in page.locator(".caution").inner_text()
    context.close()
