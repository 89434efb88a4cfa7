"""Firmware in a browser: from the vehicle to the way, to the stick that is prepared and checked;
every page in both sizes and both themes, and the same without a script.

axe-core (MPL 2.0, from its package) looks at every page.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
import uvicorn
from playwright.sync_api import Browser, expect
from tests.pages_kit import free_port, look_everywhere, seat
from tests.web.stick_kit import BLUE, MemorySticks, firmware_home, with_sticks

from asfound.web.app import create_app
from asfound.web.security import host_names
from asfound.web.services import Settings

READY_S = 60.0
SEEN_MS = 60_000
"""Patience of a test on a busy machine; no claim."""


@dataclass(frozen=True)
class Place:
    """Where the pages are, and the stick in memory."""

    address: str
    sticks: MemorySticks


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    services, sticks = with_sticks(firmware_home(tmp_path_factory.mktemp("home")))
    port = free_port()
    app = create_app(services, Settings(host_names(["localhost"], port)))
    config = uvicorn.Config(app, port=port, log_level="critical", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    end = time.monotonic() + READY_S
    while not server.started:
        assert thread.is_alive() and time.monotonic() < end
        time.sleep(0.05)
    yield Place(f"http://localhost:{port}", sticks)
    app.state.server.hub.close()
    server.should_exit = True
    thread.join(READY_S)


def test_from_the_vehicle_to_a_stick_that_is_checked(browser: Browser, place: Place) -> None:
    with seat(browser, "phone", "light", "Ines Okafor", place.address) as context:
        page = context.new_page()
        page.set_default_timeout(SEEN_MS)
        page.goto(f"{place.address}/vehicles/217")
        page.get_by_role("link", name="Choose firmware").click()
        expect(page.get_by_role("heading", name="Put on 2.03")).to_be_visible()
        told = look_everywhere(page, "firmware-choose")
        page.get_by_role("link", name="What changes in the settings").first.click()
        expect(page.get_by_text("Agreed values that this concerns")).to_be_visible()
        told += look_everywhere(page, "firmware-changes")
        page.go_back()
        page.get_by_role("link", name="Prepare a stick").first.click()
        told += look_everywhere(page, "sticks")
        page.get_by_role("link", name="Blue").click()
        expect(page.get_by_text("SERVICE/LOAD/m4-2-1.mfw")).to_be_visible()
        told += look_everywhere(page, "stick-asked")
        page.get_by_label("I have read what will be written").check()
        page.get_by_role("button", name="Prepare the stick").click()
        expect(page.get_by_text("Prepared: exactly this image")).to_be_visible(timeout=SEEN_MS)
        told += look_everywhere(page, "stick-prepared")
        assert place.sticks.blue.things["SERVICE/LOAD/m4-2-1.mfw"]
        place.sticks.blue.things["SERVICE/LOAD/m4-9.mfw"] = b"other"
        page.get_by_role("button", name="Check the stick").click()
        expect(page.get_by_text("Changed: look before")).to_be_visible(timeout=SEEN_MS)
        told += look_everywhere(page, "stick-changed")
        for path, name in (
            ("/firmware", "firmware"),
            ("/rollout", "rollouts"),
            ("/rollout/marrowby-2.03", "rollout"),
        ):
            page.goto(place.address + path)
            told += look_everywhere(page, name)
        assert not told, "\n".join(told)


def test_without_a_script(browser: Browser, place: Place) -> None:
    context = browser.new_context(java_script_enabled=False, locale="de-DE")
    page = context.new_page()
    page.set_default_timeout(SEEN_MS)
    page.goto(f"{place.address}/firmware")
    page.get_by_label("Was kommt auf Fahrzeug").fill("41")
    page.get_by_role("button", name="Wählen").click()
    expect(page.get_by_role("heading", name="Nicht zu sagen")).to_be_visible()
    page.get_by_label("Hardware, vom Typenschild").select_option("B")
    page.get_by_role("button", name="Wählen").click()
    expect(page.get_by_role("heading", name="2.03 aufspielen")).to_be_visible()
    page.goto(f"{place.address}/stick/{BLUE}")
    page.get_by_role("button", name="Stick prüfen").click()
    expect(page.get_by_role("heading", name="Blue")).to_be_visible()
    context.close()
