"""The re-key sheet as a page, in a real browser: phone and desktop, light and dark."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser

from asfound.jobs.plan_rekey import PlanRekey, plan_rekey
from asfound.jobs.rekey_page import rekey_page
from asfound.jobs.report_rekey import PrintRekey
from asfound.model.target import Origin, Target, TargetValue
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

WANTED = {
    "channel-1.looks-at": "Road <b>ahead</b>"[:16],
    "keeping.after-key-off": "900",
    "jolts.x": "0.5",
    "cable.address": "10.44.17.217",
    "time.daily-check": "03:15",
}


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sheet of a shipped recorder."""
    menu_map = load_map(shipped_map_paths()["marrowby-four"])
    values = tuple(TargetValue(field, value, Origin.BASELINE) for field, value in WANTED.items())
    sheet = plan_rekey(PlanRekey(menu_map, "2.03", Target(menu_map.id, "2.03", values)))
    made = PrintRekey(
        sheet, menu_map, datetime(2026, 3, 17, tzinfo=UTC), "217 (QB04 XKM)", "217-1", "Fleet"
    )
    path = tmp_path_factory.mktemp("page") / "sheet.html"
    path.write_text(rekey_page(made), encoding="utf-8")
    return path


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_the_sheet_fits_and_asks_for_nothing(
    browser: Browser, page_file: Path, width: int, scheme: Literal["light", "dark"]
) -> None:
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_file.as_uri())
    assert asked == [page_file.as_uri()], "nothing is fetched from outside"
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0, "no sideways scrolling"
    text = page.inner_text("body")
    for shown in ("0.5 g", "900 s", "10.44.17.217", "03:15", "Road <b>ahead</"):
        assert shown in text
    colours = page.evaluate(
        "(() => { const s = getComputedStyle(document.body);"
        " return [s.color, s.backgroundColor]; })()"
    )
    light = [sum(int(part) for part in colour[4:-1].split(",")[:3]) for colour in colours]
    assert (light[0] < light[1]) == (scheme == "light"), "the page follows the system's scheme"
    context.close()


def test_rows_can_be_ticked_off(browser: Browser, page_file: Path) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 900})
    page = context.new_page()
    page.goto(page_file.as_uri())
    boxes = page.get_by_role("checkbox")
    assert boxes.count() >= len(WANTED)
    boxes.first.check()
    assert boxes.first.is_checked()
    target = boxes.first.bounding_box()
    assert target is not None and min(target["width"], target["height"]) >= 20
    context.close()
