"""The re-key sheet as a page: what it says, that it is sound HTML, and that it needs nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser

from asfound.jobs.plan_rekey import PlanRekey, plan_rekey
from asfound.jobs.rekey_page import rekey_page
from asfound.jobs.report_rekey import PrintRekey
from asfound.model.rekey import RekeySheet
from asfound.model.target import Origin, Target, TargetValue
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

MAP = load_map(shipped_map_paths()["quillfen-octad"])
AT = datetime(2026, 11, 25, 6, 30, tzinfo=UTC)
VALUES = {
    "unit.depot": "Yard <b>2</b> & 3",
    "unit.menu-code": "set",
    "camera-2.size": "HD 1080",
    "timetable.weekday-to": "22:15",
}
VOID = {"meta", "input", "br", "link", "img"}


class Page(HTMLParser):
    """Checks that elements close in the order they opened, and collects what is on the page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.links: list[str] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.links += [value or "" for name, value in attrs if name in ("href", "src", "action")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "title"):
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def sheet_of(values: dict[str, str], from_firmware: str | None = None) -> RekeySheet:
    items = tuple(TargetValue(name, value, Origin.OVERRIDE) for name, value in values.items())
    target = Target(MAP.id, "4.0.2", items, unknown=("unit.language",))
    return plan_rekey(PlanRekey(MAP, "4.0.2", target, from_firmware))


def test_every_setting_key_and_number_is_on_the_page() -> None:
    sheet = sheet_of(VALUES, "3.2.0")
    text = rekey_page(PrintRekey(sheet, MAP, AT, "BH 214", "v-1", "Brindlemere"))
    page = Page(text)
    assert page.open == []
    assert page.tags.count("input") == 4
    runs = [run for item in sheet.pages for run in (*item.reach, *item.save)]
    rows = [row for item in sheet.pages for row in item.fields]
    runs += [run for row in rows for run in (*row.move, *row.change)]
    assert page.tags.count("kbd") == len(runs)
    for words in ("BH 214", "Brindlemere", str(sheet.presses), "HD 1080", "22:15", "By hand"):
        assert words in page.text
    assert "Yard <b>2</b> & 3" in page.text  # as text, not as markup
    for heading in ("Set at the vehicle", "Nobody says", "New in this", "Renamed by", "Gone from"):
        assert heading in page.text
    assert "2026-11-25 06:30 UTC" in page.text


def test_the_page_needs_nothing_from_outside() -> None:
    text = rekey_page(PrintRekey(sheet_of(VALUES), MAP, AT))
    page = Page(text)
    assert page.links == []
    assert not {"script", "link", "img", "iframe", "object"} & set(page.tags)
    assert "url(" not in text and "@import" not in text and "http" not in text


def test_light_dark_paper_and_narrow_screens_are_provided_for() -> None:
    text = rekey_page(PrintRekey(sheet_of(VALUES), MAP, AT))
    for rule in ("prefers-color-scheme: dark", "@media print", "size: A4", "max-width: 36rem"):
        assert rule in text


def test_an_empty_sheet_says_so() -> None:
    sheet = replace(sheet_of({}), unknown=())
    page = Page(rekey_page(PrintRekey(sheet, MAP, AT)))
    assert "Nothing has to be keyed in" in page.text
    assert "kbd" not in page.tags


def test_the_same_request_gives_the_same_page() -> None:
    request = PrintRekey(sheet_of(VALUES), MAP, AT)
    assert rekey_page(request) == rekey_page(request)
