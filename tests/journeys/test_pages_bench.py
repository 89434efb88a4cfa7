"""The bench in a browser: days kept side by side, leads, a lens drawn to scale, settings checked;
in both sizes and both themes, and without a script.

axe-core (MPL 2.0, from its package) looks at every page.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.journeys.test_pages_visit import Server
from tests.pages_kit import free_port, look_everywhere, out_of_place, seat
from tests.worked_visit import fleet_home

from asfound.web.bench import TOOLS


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


def test_days_side_by_side(browser: Browser, server: Server) -> None:
    with seat(browser, "phone", "dark") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench")
        told = look_everywhere(page, "bench-tools")
        page.get_by_role("link", name="Days kept").click()
        fill(page, {"drive": "1TB", "channels": "4x2Mbit/s", "hours": "24", "promised": "30"})
        page.get_by_text("Events, sound, losses").click()
        fill(page, {"file_system": "0%", "reserve": "10%", "events": "3", "event_length": "90s"})
        page.get_by_role("button", name="Work it out", exact=True).click()
        # (1e12 - 1e11) / 86.4e9 bytes a day = 10.4 days.
        expect(page.locator(".answer")).to_contain_text("10.4 days are kept")
        expect(page.locator(".answer")).to_be_in_viewport()
        fill(page, {"drive": "4TB"})
        page.get_by_role("button", name="Work it out beside A").click()
        expect(page.locator(".answer")).to_contain_text("41.7 days are kept")
        expect(page.get_by_role("columnheader", name="B")).to_be_attached()
        expect(page.get_by_role("img", name="Days kept by drives")).to_be_attached()
        told += look_everywhere(page, "bench-days")
        page.get_by_role("link", name="Only this one").click()
        expect(page.get_by_role("columnheader", name="B")).to_have_count(0)
        fill(page, {"drive": "big"})
        page.get_by_role("button", name="Work it out", exact=True).click()
        expect(page.get_by_role("alert")).to_contain_text("drive: 'big' is no figure")
        expect(page.locator("[id=channels]")).to_have_value("4x2Mbit/s")
        told += look_everywhere(page, "bench-days-wrong")
        assert told == []


def test_leads_and_lens(browser: Browser, server: Server) -> None:
    with seat(browser, "laptop", "light") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench/leads")
        fill(page, {"supply": "24V", "load": "60W", "length": "12m", "section": "AWG16"})
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator(".answer")).to_contain_text("are lost")
        expect(page.get_by_text("Stay off orange cables")).to_be_visible()
        told = look_everywhere(page, "bench-leads")
        page.goto(f"{server.address}/bench/lens")
        fill(page, {"sensor": "4.8x3.6mm", "focal": "2.8mm", "pixels": "1280", "distance": "3m"})
        fill(page, {"height": "2.5m", "tilt": "30"})
        page.get_by_label("It has to be good for").select_option("identify")
        page.get_by_role("button", name="Work it out").click()
        # 1280 px, 4.8 mm, 2.8 mm, 3 m: 248.889 pixels a metre, just below 250 (IEC/EN 62676-4).
        expect(page.locator(".findings")).to_contain_text("identify wants 250")
        expect(page.get_by_role("img", name="from the side, to scale")).to_be_visible()
        told += look_everywhere(page, "bench-lens")
        assert told == []


def test_settings_of_a_vehicle_in_german_without_scripts(browser: Browser, server: Server) -> None:
    context = browser.new_context(java_script_enabled=False, locale="de-DE")
    page = context.new_page()
    page.goto(f"{server.address}/bench/check?vehicle=217&drive=480GB&hours=14&promised=14")
    expect(page.get_by_role("heading", name="Einstellungen prüfen")).to_be_visible()
    expect(page.locator(".answer")).to_be_visible()
    context.close()
    with seat(browser, "laptop", "dark") as again:
        page = again.new_page()
        page.goto(f"{server.address}/bench/check?vehicle=217&drive=480GB&hours=14&promised=14")
        assert look_everywhere(page, "bench-check") == []


def test_long_words_of_german_fit_a_phone(browser: Browser, server: Server) -> None:
    """Every calculation, empty and with an answer where its address alone gives one."""
    asked = {
        "days": "drive=1TB&channels=4x2Mbit/s&hours=12&promised=30&lawful=31",
        "leads": "supply=24V&load=60W&length=12m&section=1.5mm2",
        "lens": "sensor=4.8x3.6mm&focal=2.8mm&pixels=1280&distance=3m&height=2.5m&tilt=30",
        "check": "vehicle=217",
        "power/parked": "system=24V&battery=170Ah&charge=90&run_on=4h&run_on_draws=25W&parked=62h",
        "power/crank": "system=24V&code=H&hold_up=200ms&boot=45s",
    }
    with seat(browser, "phone", "light") as context:
        context.add_cookies([{"name": "asfound_language", "value": "de", "url": server.address}])
        page = context.new_page()
        told = []
        for tool in TOOLS:
            for query in ("", asked.get(tool.path, "")):
                page.goto(f"{server.address}/bench/{tool.path}?{query}")
                name = f"bench-german-{tool.path.replace('/', '-')}{'-answer' if query else ''}"
                told += out_of_place(page, name, "phone", "light")
        assert told == []
