"""Re-key sheet, comparison and report as pages and over HTTP, without a script."""

from __future__ import annotations

import asyncio
import base64
import io
import re
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from PIL import Image, ImageDraw
from tests.visit_kit import MAP, VALUES, opened, reading
from tests.web.kit import Browser, send, services, token

from asfound.jobs.key_ticks import TickKeys, tick_keys
from asfound.jobs.visit_act import AddNote, TickStep, note, tick
from asfound.jobs.visit_record import RecordReading, record_as_found, record_as_left
from asfound.web.events import Hub, Subject

API = "/api/v1/visits"
BY = {"by": "Ines"}


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    made = Browser(services(tmp_path))
    made.headers["X-CSRF-Token"] = made.get("/api/v1/session").json()["csrf_token"]
    return made


@pytest.fixture
def visit(browser: Browser) -> str:
    """Read as found, new firmware, reset."""
    at = browser.server.services.desk
    state = opened(at)
    for step in ("locate", "power", "monitor"):
        tick(TickStep(state.id, step, "ada"), desk=at)
    record_as_found(RecordReading(state.id, MAP, reading(VALUES, at), "ada"), desk=at)
    tick(TickStep(state.id, "firmware", "ada", "", "2.0", MAP), desk=at)
    tick(TickStep(state.id, "reset", "ada"), desk=at)
    return state.id


def head(browser: Browser, visit: str) -> str:
    return browser.server.services.desk.store.heads([visit])[visit][1]


def planned(browser: Browser, visit: str) -> dict[str, Any]:
    fields = {"head": head(browser, visit), **BY}
    send(browser, f"/visits/{visit}/rekey/plan", fields)
    made: dict[str, Any] = browser.get(f"{API}/{visit}/plan").json()
    return made


def as_left(browser: Browser, visit: str, changes: dict[str, str]) -> None:
    at = browser.server.services.desk
    target = {"camera-2.record": "on", "camera-2.size": "CIF"}
    values = VALUES | target | changes
    tick(TickStep(visit, "rekey", "ada"), desk=at)
    made = reading(values, at, "2.0", {"general.name": ("AB", "A8")})
    record_as_left(RecordReading(visit, MAP, made, "ada"), desk=at)


def marks_of(plan: dict[str, Any]) -> list[str]:
    return [field["mark"] for page in plan["pages"] for field in page["fields"]]


def hand() -> str:
    """A drawn signature as a browser's drawing surface gives it."""
    image = Image.new("RGB", (400, 160), "white")
    ImageDraw.Draw(image).line([(60, 100), (180, 40), (330, 110)], fill="black", width=4)
    packed = io.BytesIO()
    image.save(packed, "PNG")
    return base64.b64encode(packed.getvalue()).decode()


def test_looking_at_the_sheet_changes_nothing(browser: Browser, visit: str) -> None:
    before = head(browser, visit)
    page = browser.get(f"/visits/{visit}/rekey").text
    assert "Work out the keys" in page and head(browser, visit) == before


def test_settings_are_ticked_off_without_a_script(browser: Browser, visit: str) -> None:
    marks = marks_of(planned(browser, visit))
    journal = head(browser, visit)
    where = send(browser, f"/visits/{visit}/rekey/tick", {"done": marks[0], "layout": "one"})
    page = browser.get(where).text
    assert f'data-mark="{marks[1]}"' in page
    shown = re.search(r'data-mark="(\w+)" data-presses="\d+" data-now', page)
    assert shown and shown[1] == marks[1], "the next setting is the one that is shown"
    assert f'name="undo" value="{marks[0]}"' in page and "Ines" in page
    send(browser, f"/visits/{visit}/rekey/tick", {"undo": marks[0], "layout": "pages"})
    assert browser.get(f"{API}/{visit}/ticks").json()["done"] == 0
    assert head(browser, visit) == journal, "ticks are no journal entries"


def test_the_whole_sheet_is_there_in_both_layouts(browser: Browser, visit: str) -> None:
    plan = planned(browser, visit)
    for layout in ("one", "pages", "nonsense"):
        page = browser.get(f"/visits/{visit}/rekey?layout={layout}").text
        assert re.findall(r'data-mark="(\w+)"', page) == marks_of(plan)
        for sheet in plan["pages"]:
            for field in sheet["fields"]:
                assert field["label"] in page and field["to_value"] in page


def test_ticks_over_http_count_for_two_people_at_once(browser: Browser, visit: str) -> None:
    plan = planned(browser, visit)
    first, second = marks_of(plan)[:2]
    path = f"{API}/{visit}/ticks"
    one = browser.put(f"{path}/{first}", json={"by": "ada"}).json()
    two = browser.put(f"{path}/{second}", json={"by": "bo"}).json()
    assert [one["done"], two["done"]] == [1, 2] and one["stamp"] != two["stamp"]
    assert {item["by"] for item in two["ticks"]} == {"ada", "bo"}
    assert two["presses_left"] < plan["presses"] and two["seconds_left"] < plan["seconds"]
    gone = browser.put(f"{path}/{'0' * 24}", json={"by": "ada"})
    assert gone.status_code == 404 and "plan has changed" in gone.json()["detail"]
    assert browser.post(f"{path}/clear", json={"by": "ada"}).json()["done"] == 0


def test_a_tick_is_news_for_every_page(browser: Browser, visit: str) -> None:
    (first, *_) = marks_of(planned(browser, visit))
    desk, tasks = browser.server.services.desk, browser.server.tasks
    hub = Hub(desk.store)

    async def seen() -> str:
        stream = hub.stream(Subject(visit, "217"), "", tasks, lambda: True)
        async for item in stream:
            if item.startswith(b"event: journal"):
                # Another program ticks: no one here is told but by the look at each second.
                tick_keys(TickKeys(visit, first, "bo"), desk=desk)
            if item.startswith(b"event: ticks"):
                await stream.aclose()  # type: ignore[attr-defined] # an async generator has it
                return item.decode()
        return ""

    news = asyncio.run(asyncio.wait_for(seen(), 30))
    assert desk.store.ticks_stamp(visit) in news and desk.store.ticks_stamp(visit)


def test_names_with_markup_stay_text(browser: Browser, visit: str) -> None:
    name = "<b>Rosa</b> #strong[x]"
    fields = {"head": head(browser, visit), "name": name, "role": "witness"}
    send(browser, f"/visits/{visit}/report/sign", fields)
    page = browser.get(f"/visits/{visit}/report").text
    assert "&lt;b&gt;Rosa&lt;/b&gt;" in page and "<b>Rosa" not in page
    document = pypdfium2.PdfDocument(browser.get(f"/visits/{visit}/report.pdf").content)
    text = " ".join(sheet.get_textpage().get_text_range() for sheet in document)
    document.close()
    assert name in " ".join(text.split())


def test_a_plan_over_an_older_head_is_a_conflict(browser: Browser, visit: str) -> None:
    seen = head(browser, visit)
    note(AddNote(visit, "bo", "seal broken"), desk=browser.server.services.desk)
    answer = browser.post(f"{API}/{visit}/plan", json={"head": seen, "by": "ada"})
    assert answer.status_code == 409
    fields = {"csrf": token(browser), "head": seen, **BY}
    page = browser.post(f"/visits/{visit}/rekey/plan", data=fields)
    assert page.status_code == 409 and "wrote a note" in page.text


def test_every_setting_is_compared_and_counted_once(browser: Browser, visit: str) -> None:
    planned(browser, visit)
    assert "Nothing to compare yet" in browser.get(f"/visits/{visit}/compare").text
    as_left(browser, visit, {"camera-1.size": "CIF", "camera-1.record": "on"})
    assert "Not compared yet" in browser.get(f"/visits/{visit}/compare").text
    send(browser, f"/visits/{visit}/compare", {"head": head(browser, visit), **BY})
    told = browser.get(f"{API}/{visit}/difference").json()
    fields = [item["field"] for item in told["settings"]]
    assert sorted(fields) == sorted(field.id for field in MAP.fields_in("2.0"))
    kinds = {item["field"]: item["kind"] for item in told["settings"]}
    assert kinds["camera-1.size"] == "wrong" and kinds["general.name"] == "doubt"
    assert told["open"] == 2 and told["settings"][0]["kind"] == "wrong", "open ones first"
    page = browser.get(f"/visits/{visit}/compare").text
    assert "2 settings are open" in page and "still at the factory setting" in page
    assert "AB or A8" in page, "candidates of the doubt"


def test_a_page_that_was_not_photographed_is_said(browser: Browser, visit: str) -> None:
    planned(browser, visit)
    at = browser.server.services.desk
    tick(TickStep(visit, "rekey", "ada"), desk=at)
    made = reading({"camera-1.record": "on", "camera-1.size": "HD"}, at, "2.0")
    record_as_left(RecordReading(visit, MAP, made, "ada"), desk=at)
    body = {"head": head(browser, visit), "by": "ada"}
    told = browser.post(f"{API}/{visit}/difference", json=body).json()
    kinds = {item["field"]: item["kind"] for item in told["settings"]}
    assert kinds["camera-2.record"] == "missing" and kinds["camera-1.size"] == "same"
    assert "Not photographed" in browser.get(f"/visits/{visit}/compare").text


def test_the_report_is_signed_and_says_what_came_later(browser: Browser, visit: str) -> None:
    path = f"/visits/{visit}/report"
    fields = {"head": head(browser, visit), "name": "Rosa Lint", "role": "operator"}
    picture = f"data:image/png;base64,{hand()}"
    assert send(browser, f"{path}/sign", {**fields, "picture": picture}) == path
    page = browser.get(path).text
    assert "Rosa Lint" in page and "signed as it stands" in page and "for the operator" in page
    (one,) = browser.get(f"{API}/{visit}/signatures").json()
    assert (one["head"], one["later"]) == (fields["head"], 0)
    shown = browser.get(f"{API}/{visit}/signatures/{one['entries']}.jpg")
    assert Image.open(io.BytesIO(shown.content)).format == "JPEG"
    assert browser.get(f"{API}/{visit}/signatures/0.jpg").status_code == 404
    note(AddNote(visit, "bo", "seal broken"), desk=browser.server.services.desk)
    assert "of an earlier state: 1 entry written since" in browser.get(path).text
    for address in (f"{path}.pdf", f"{API}/{visit}/report.pdf"):
        answer = browser.get(address)
        document = pypdfium2.PdfDocument(answer.content)
        text = " ".join(sheet.get_textpage().get_text_range() for sheet in document)
        document.close()
        assert "Rosa Lint" in text and "of an earlier state" in text
        assert answer.headers["content-type"] == "application/pdf"


def test_the_preview_has_the_pages_of_the_pdf(browser: Browser, visit: str) -> None:
    path = f"/visits/{visit}/report"
    document = pypdfium2.PdfDocument(browser.get(f"{path}.pdf").content)
    count = len(document)
    document.close()
    # On a busy machine making them takes longer than the page waits for them.
    while "data-task" in (shown := browser.get(f"{path}/preview").text):
        pass
    assert f"Page {count} of {count}" in shown
    first = browser.get(f"{path}/pages/1.png")
    # ISO 216 A4, 210 mm by 297 mm, at 110 dots per inch: 909.4 by 1286.2, rounded either way.
    width, height = Image.open(io.BytesIO(first.content)).size
    assert width in (909, 910) and height in (1286, 1287)
    assert browser.get(f"{path}/pages/{count + 1}.png").status_code == 404


@pytest.mark.parametrize(
    ("changes", "status", "said"),
    [
        ({"name": " "}, 422, "who did it"),
        ({"role": "boss"}, 422, "choose one of"),
        ({"picture": "data:image/png;base64,%%%"}, 422, "not base64"),
        ({"picture": base64.b64encode(b"%PDF-").decode()}, 422, "signature"),
        ({"head": "0" * 64}, 409, "somebody else wrote"),
        ({"head": ""}, 422, "head is missing"),
    ],
)
def test_a_signature_that_cannot_be_taken_is_said_and_nothing_is_written(
    browser: Browser, visit: str, changes: dict[str, str], status: int, said: str
) -> None:
    before = head(browser, visit)
    fields = {"head": before, "name": "Rosa", "role": "operator", "picture": ""} | changes
    data = {"csrf": token(browser), **fields}
    answer = browser.post(f"/visits/{visit}/report/sign", data=data)
    assert answer.status_code == status and said in answer.text
    assert head(browser, visit) == before


def test_the_description_covers_the_work(browser: Browser) -> None:
    paths = set(browser.get("/api/v1/openapi.json").json()["paths"])
    ends = ("plan", "ticks", "ticks/{mark}", "difference", "report.pdf", "signatures")
    assert {f"{API}/{{visit}}/{end}" for end in ends} <= paths
