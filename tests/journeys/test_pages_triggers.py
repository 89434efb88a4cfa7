"""Motion triggers in a browser: thresholds dragged, moved by keys and by numbers; both sizes, both
themes, and without a script. Drives are simulated (demo/drives.py).

axe-core (MPL 2.0, from its package) looks at the page.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.jobs.drive_kit import csv_of
from tests.journeys.test_pages_visit import Server
from tests.pages_kit import free_port, look_everywhere, seat
from tests.worked_visit import fleet_home

from asfound.demo.drives import START_S, VAN, Conditions, drive


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The pages over a fleet."""
    folder = tmp_path_factory.mktemp("home")
    fleet_home(folder)
    made = Server(folder, free_port())
    made.start()
    yield made
    made.kill()


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Path]]:
    folder = tmp_path_factory.mktemp("trips")
    made: dict[str, list[Path]] = {"logs": [], "tracks": [], "labels": []}
    for n in range(3):
        one = drive(64600 + n, 8.5, VAN, Conditions(harsh_an_hour=22))
        rows = zip(one.track.times_s, one.track.speed_ms, one.track.course_deg, strict=True)
        texts = {
            "logs": csv_of(one).decode(),
            "tracks": "time,speed,course\n"
            + "".join(f"{t},{v * 3.6:.2f},{c:.1f}\n" for t, v, c in rows),
            "labels": "start,end,kind\n"
            + "".join(
                f"{each.start_s - START_S:.2f},{each.end_s - START_S:.2f},{each.kind}\n"
                for each in one.labels
            ),
        }
        for name, text in texts.items():
            made[name].append(folder / f"{name}{n}.csv")
            made[name][-1].write_text(text)
    return made


def send(page: Page, server: Server, files: dict[str, list[Path]]) -> None:
    page.goto(f"{server.address}/bench/triggers")
    for name, paths in files.items():
        page.set_input_files(f"#{name}", list(paths))
    page.fill("#budget", "100/day")
    page.get_by_text("How the files are written").click()
    page.fill("#track_map", "time-unit=s")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator(".grid-drawing")).to_be_attached(timeout=30_000)


def counted(page: Page, name: str) -> float:
    return float(page.locator(f'[data-out="{name}"]').inner_text())


def by_the_grid(page: Page, name: str, threshold: str, seconds: str) -> float:
    """Events a day of one direction, from what the page itself carries."""
    grid = json.loads(page.locator("[name=grid]").input_value())
    way = next(each for each in grid["directions"] if each["name"] == name)
    at = grid["thresholds_g"].index(float(threshold))
    d = grid["durations_s"].index(float(seconds))
    return float(way["events"][at][d] * grid["hours_a_day"] / grid["hours"])


def agrees(page: Page) -> None:
    """Each figure is what the grid says for where its threshold stands."""
    total = 0.0
    for name in ("forward", "sideways", "upright"):
        threshold = page.locator(f"[name=g-{name}]").input_value()
        seconds = page.locator(f"[name=s-{name}]").input_value()
        a_day = by_the_grid(page, name, threshold, seconds)
        assert counted(page, f"day-{name}") == pytest.approx(a_day, rel=0.006)
        total += a_day * page.locator(f"[name=on-{name}]").is_checked()
    assert counted(page, "day") == pytest.approx(total, rel=0.006)


def test_thresholds_are_dragged_and_moved_by_keys(
    browser: Browser, server: Server, files: dict[str, list[Path]]
) -> None:
    with seat(browser, "laptop", "light") as context:
        page = context.new_page()
        send(page, server, files)
        expect(page.get_by_text("Drag them")).to_be_visible()
        agrees(page)
        before = float(page.locator("[name=g-forward]").input_value())
        grip = page.locator('[data-curve="forward"] [role=slider]')
        box = grip.locator(".hold").bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 60, y, steps=6)
        page.mouse.up()
        dragged = float(page.locator("[name=g-forward]").input_value())
        assert dragged > before
        agrees(page)
        grip.focus()
        page.keyboard.press("ArrowLeft")
        assert float(page.locator("[name=g-forward]").input_value()) == pytest.approx(
            dragged - 0.05
        )
        page.keyboard.press("End")
        expect(grip).to_have_attribute("aria-valuetext", "2 g")
        assert counted(page, "day-forward") == 0
        agrees(page)
        page.keyboard.press("Home")
        agrees(page)
        page.fill("[name=g-sideways]", "0.33")
        page.locator("[name=s-sideways]").select_option("1")
        agrees_after = page.locator("[name=g-sideways]")
        expect(agrees_after).to_have_value("0.35")
        agrees(page)
        page.get_by_label("forward", exact=True).uncheck()
        agrees(page)
        assert look_everywhere(page, "bench-triggers") == []


def test_without_a_script_by_numbers(
    browser: Browser, server: Server, files: dict[str, list[Path]]
) -> None:
    context = browser.new_context(
        java_script_enabled=False, viewport={"width": 390, "height": 844}, locale="en-GB"
    )
    page = context.new_page()
    page.goto(f"{server.address}/bench/triggers")
    for name, paths in files.items():
        page.set_input_files(f"#{name}", list(paths))
    page.get_by_text("How the files are written").click()
    page.fill("#track_map", "time-unit=s")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator(".grid-drawing")).to_be_attached(timeout=30_000)
    agrees(page)
    page.fill("[name=g-forward]", "0.2")
    page.locator("[name=s-forward]").select_option("0.8")
    page.get_by_role("button", name="Try these").click()
    expect(page.locator("[name=g-forward]")).to_have_value("0.2")
    expect(page.locator("[name=s-forward]")).to_have_value("0.8")
    agrees(page)
    context.close()
