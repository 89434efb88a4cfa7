"""Drives in a browser: life in an address, health from reports that are sent, in both sizes and
both themes, and without a script.

axe-core (MPL 2.0, from its package) looks at every page.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, FilePayload, Page, expect
from tests.journeys.test_pages_visit import Server
from tests.pages_kit import free_port, look_everywhere, seat
from tests.smart_reports import Report, hdd, head, nvme, self_tests, text
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


def file(name: str, report: Report) -> FilePayload:
    return {"name": name, "mimeType": "application/json", "buffer": text(report)}


REPORTS: list[FilePayload] = [
    file("good-drive.json", hdd()),
    file("a-drive-with-a-name-that-does-not-end-anywhere-near-here.json", hdd(
        {5: 12, 188: 0x0001_0002_0003, 191: 9000, 199: 4}, **self_tests(True, False)
    )),
    file("worn.json", nvme({"critical_warning": 4, "percentage_used": 112})),
    file("hidden.json", head("SCSI") | {"smart_status": None}),
    {"name": "other.json", "mimeType": "application/json", "buffer": b"{}"},
]  # fmt: skip


def fill(page: Page, fields: dict[str, str]) -> None:
    for name, value in fields.items():
        page.get_by_label(name, exact=True).fill(value)


def test_life(browser: Browser, server: Server) -> None:
    with seat(browser, "phone", "light") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench")
        page.get_by_role("link", name="Drive life").click()
        told = look_everywhere(page, "drive-life-empty")
        fill(page, {"Drive, as its label says": "1TB", "Or: all of them together": "16Mbit/s"})
        page.get_by_role("button", name="Work it out").click()
        expect(page.get_by_role("alert")).to_contain_text("hours")
        expect(page.get_by_label("Drive, as its label says")).to_have_value("1TB")
        told += look_everywhere(page, "drive-life-refused")
        more = {"Rated writes (TBW)": "600TB", "Years of warranty": "5", "Hours a day": "24"}
        fill(page, {**more, "Years it is to last": "12", "Written so far": "100TB"})
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator(".answer")).to_contain_text("7.9 years from now on")
        expect(page.locator("figure.drawn svg")).to_be_visible()
        told += look_everywhere(page, "drive-life")
        fill(page, {"Rated writes (TBW)": "", "Hard disks: workload a year": "55TB"})
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator(".answer")).to_contain_text("63.1 TB are written in a year")
        told += look_everywhere(page, "drive-workload")
        assert told == []


def test_health(browser: Browser, server: Server) -> None:
    with seat(browser, "phone", "light") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench")
        page.get_by_role("link", name="Drive health").click()
        told = look_everywhere(page, "drive-health-empty")
        page.get_by_label("Reports of drives").set_input_files(REPORTS)
        page.get_by_role("button", name="Judge them").click()
        expect(page.get_by_role("heading", name="worn.json")).to_be_visible()
        told += look_everywhere(page, "drive-health")
        assert told == []


def test_without_a_script(browser: Browser, server: Server) -> None:
    context = browser.new_context(java_script_enabled=False, locale="en-GB")
    page = context.new_page()
    page.goto(f"{server.address}/bench/drive/health")
    page.get_by_label("Reports of drives").set_input_files(REPORTS[1])
    page.get_by_role("button", name="Judge them").click()
    expect(page.locator("main")).to_contain_text("do not fit it.")
    page.goto(f"{server.address}/bench/drive?drive=1TB&tbw=600TB&rate=16Mbit/s&hours=24")
    expect(page.locator(".answer")).to_contain_text("9.5 years")
    context.close()
