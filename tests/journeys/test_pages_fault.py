"""Finding a fault in a browser, as on a phone in the rain: from a visit to its cause and back into
the visit, with large targets, in both sizes and both themes, and without a script.

axe-core (MPL 2.0, from its package) looks at every page.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.journeys.test_pages_visit import SIZES, Server
from tests.pages_kit import free_port, look_everywhere
from tests.worked_visit import BY, fleet_home, up_to_slips

from asfound.demo.scenario import VEHICLE


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The pages over an open visit of the bus."""
    folder = tmp_path_factory.mktemp("home")
    up_to_slips(fleet_home(folder))
    made = Server(folder, free_port())
    made.start()
    yield made
    made.kill()


def tick(page: Page, title: str) -> None:
    page.get_by_label(title, exact=True).check()


def test_from_a_visit_to_the_cause_and_back(browser: Browser, server: Server) -> None:
    width, height = SIZES["phone"]
    context = browser.new_context(
        viewport={"width": width, "height": height},
        has_touch=True,
        locale="en-GB",
        reduced_motion="reduce",
    )
    page = context.new_page()
    told: list[str] = []
    page.goto(f"{server.address}/vehicles/{VEHICLE}")
    page.locator("a[href^='/visits/']").first.click()
    visit = page.url.rpartition("/")[2]
    page.get_by_role("link", name="Find a fault").click()
    told += look_everywhere(page, "fault-empty")
    tick(page, "One camera shows no picture")
    page.get_by_role("button", name="Find it").click()
    expect(page.get_by_role("heading", name="Likely causes")).to_be_visible()
    # On a phone the answer is on the screen at once, the form is above it.
    expect(page.locator(".answer")).to_be_in_viewport()
    told += look_everywhere(page, "fault-check")
    page.locator("summary", has_text="Another check").click()
    page.get_by_role("link", name="Open the camera's plug and look inside").click()
    page.get_by_role("link", name="wet, green or loose").click()
    expect(page.locator(".so-far")).to_contain_text("wet, green or loose")
    told += look_everywhere(page, "fault-cause")
    page.get_by_role("link", name="Take back: Open the camera's plug").click()
    expect(page.locator(".so-far")).not_to_contain_text("wet, green or loose")
    page.go_back()
    page.get_by_label("What was repaired and helped").select_option(
        label="Camera's plug wet or loose"
    )
    page.get_by_label("What there is to say about it").fill("water in the plug below the mirror")
    if page.get_by_label("Your name").count():
        page.get_by_label("Your name").fill(BY)
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("main")).to_contain_text("water in the plug below the mirror")
    assert page.url.endswith(f"/visits/{visit}")
    assert told == []
    context.close()


def test_without_a_script(browser: Browser, server: Server) -> None:
    context = browser.new_context(java_script_enabled=False, locale="en-GB")
    page = context.new_page()
    page.goto(f"{server.address}/bench/fault")
    page.get_by_label("No light on the recorder", exact=True).check()
    page.get_by_role("button", name="Find it").click()
    page.get_by_role("link", name="blown", exact=True).click()
    assert "Sure enough: Blown fuse" in page.locator(".answer").inner_text()
    page.goto(f"{server.address}/bench/fault?checked=look-at-fuse")
    assert "write a check and its outcome" in page.get_by_role("alert").inner_text()
    context.close()
