"""Pages and resources of the register of drives.

How stories are put together is held by tests/jobs; these hold what pages show, keep and refuse.
Categories of erasure: NIST SP 800-88 Rev. 1, section 2.5 (from memory); the rest is the project's
own (docs/drives.md).
"""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from PIL import Image, ImageDraw
from tests.drive_desk import drive_visit
from tests.smart_reports import ssd, text
from tests.web.kit import MARKUP, Browser, send, services, token
from tests.web.test_german_pages import english
from tests.web.test_request_pages import told

from asfound.calc.drive_names import label_text, register_id
from asfound.jobs.holds import PlaceHold, place_hold
from asfound.web import view_drives
from asfound.web.driving import drive_desk
from asfound.web.routes import PREFIX

SERIAL = "TL-88301-C"
PAGE = f"/drives/{register_id('tl-88301-c')}"
NEW = {"serial": SERIAL, "kind": "ssd", "size": "480 GB", "by": "Ada"}


@pytest.fixture
def browser(tmp_path: Path) -> Iterator[Browser]:
    with Browser(services(tmp_path)) as made:
        yield made


def act(browser: Browser, kind: str, page: str = PAGE, **fields: str) -> str:
    """Send a form as the drive's page has it now."""
    return send(browser, f"{page}/{kind}", {"head": head(browser, page), "by": "Ada"} | fields)


def head(browser: Browser, page: str = PAGE) -> str:
    found = re.search(r'name="head" value="([0-9a-f]+)"', browser.get(page).text)
    assert found
    return found[1]


def ink() -> str:
    """A line on white, as a drawing surface sends it."""
    picture = Image.new("RGB", (400, 160), "white")
    ImageDraw.Draw(picture).line((20, 120, 180, 30, 380, 110), fill="black", width=6)
    kept = io.BytesIO()
    picture.save(kept, "PNG")
    return "data:image/png;base64," + base64.b64encode(kept.getvalue()).decode()


def test_custody_from_the_vehicle_to_a_desk(browser: Browser) -> None:
    assert "No drive is registered yet." in browser.get("/drives").text
    assert send(browser, "/drives/new", NEW | {"vehicle": "217"}) == PAGE
    assert SERIAL in told(browser.get("/vehicles/217").text).split("Drive by the register")[1]
    act(browser, "pulled", vehicle="217", reason="collision claim")
    act(browser, "handed", to="Ines", where="claims desk", reason="to be copied", picture=ink())
    act(browser, "put", place="store", where="shelf 2", reason="copied", by="Ines")
    page = browser.get(PAGE).text
    story = told(page.split('id="story"')[1].split("</section>")[0])
    order = [
        "registered it, fitted in 217", "pulled it from 217 Why: collision claim",
        "handed it to Ines (claims desk) Why: to be copied", "put it away: in a store (shelf 2)",
    ]  # fmt: skip
    places = [story.find(words) for words in order]
    assert -1 not in places and places == sorted(places), story
    assert "in store (shelf 2)" in told(page)
    picture = browser.get(f"{PAGE}/hands/1.jpg")
    assert picture.headers["content-type"] == "image/jpeg" and len(picture.content) > 500
    assert browser.get(f"{PAGE}/hands/2.jpg").status_code == 404
    (listed,) = browser.get(f"{PREFIX}/drives").json()
    assert (listed["place"], listed["where"], listed["holder"]) == ("store", "shelf 2", None)
    assert [one["kind"] for one in listed["events"]] == ["registered", "pulled", "handed", "put"]
    assert browser.get(f"{PREFIX}/drives/findings").json() == []


def test_the_label_is_shown_and_fetched_and_its_code_finds_the_drive(browser: Browser) -> None:
    send(browser, "/drives/new", NEW)
    assert f'src="{PAGE}/label.svg"' in browser.get(PAGE).text
    svg = browser.get(f"{PAGE}/label.svg")
    assert svg.headers["content-type"].startswith("image/svg+xml") and SERIAL in svg.text
    assert MARKUP not in svg.text
    pdf = browser.get(f"{PAGE}/label.pdf")
    assert pdf.content.startswith(b"%PDF-") and "attachment" in pdf.headers["content-disposition"]
    code = label_text("tl-88301-c", SERIAL, "Brindlemere")
    for asked in (code, SERIAL.lower(), "ada", "88301"):
        assert PAGE in browser.get("/drives", params={"q": asked}).text, asked
    assert PAGE not in browser.get("/drives", params={"q": "zebra"}).text


def test_locks_are_shown_with_their_reason_and_refuse_a_form_that_is_sent_past_them(
    browser: Browser,
) -> None:
    send(browser, "/drives/new", NEW | {"vehicle": "217"})
    wipe = {"category": "purge", "method": "block erase", "tool": "T 1", "reason": "worn"}
    leave = {"how": "scrapped", "reason": "worn"}
    at = drive_desk(browser.server.services)
    now, vehicle = at.clock.now(), browser.server.services.shelf.fleet().vehicle("217")
    span = (now - timedelta(hours=2), now - timedelta(hours=1))
    place_hold(PlaceHold(vehicle, *span, "a claim", "Bo"), store=at.store, clock=at.clock)

    def refused(says: str) -> None:
        page = browser.get(PAGE).text
        assert says in told(page) and f'action="{PAGE}/wiped"' not in page
        assert f'action="{PAGE}/retired"' not in page
        for kind, fields in (("wiped", wipe), ("retired", leave)):
            data = {"csrf": token(browser), "head": head(browser), "by": "Ada", **fields}
            answer = browser.post(f"{PAGE}/{kind}", data=data)
            assert answer.status_code == 409 and "must not be" in answer.text
            told_json = {"head": head(browser), "by": "Ada", **fields}
            answer = browser.post(
                f"{PREFIX}{PAGE}/{kind}", json=told_json, headers={"X-CSRF-Token": token(browser)}
            )
            assert answer.status_code == 409 and answer.json()["type"].endswith("gate-shut")

    refused("it is fitted in 217")
    act(browser, "pulled", vehicle="217", reason="worn")
    refused("hold-217-1 (a claim) keeps footage of 217 that should be on it")
    release = {"hold": "hold-217-1", "reason": "settled", "by": "Bo"}
    send(browser, "/vehicles/217/holds/release", release)
    # The drive's page takes both now; without a check the proof does not count.
    act(browser, "retired", **leave)
    act(browser, "wiped", **wipe)
    assert "without a proof of erasure that counts: nobody verified it" in told(
        browser.get("/drives").text
    )
    act(browser, "wiped", **wipe, verified_by="Bo")
    kinds = {one["kind"] for one in browser.get(f"{PREFIX}/drives/findings").json()}
    assert "not-proven" not in kinds
    assert "purged, checked by Bo" in told(browser.get(PAGE).text)


def test_findings_stand_first_and_an_unknown_drive_of_a_visit_can_be_registered(
    browser: Browser,
) -> None:
    at = drive_desk(browser.server.services)
    vehicle = browser.server.services.shelf.fleet().vehicle("217")
    drive_visit(at, "OUT-1", "IN-1", vehicle)
    page = browser.get("/drives").text
    assert page.index("What does not go together") < page.index("All drives")
    assert "/drives/new?serial=OUT-1" in page
    form = browser.get("/drives/new?serial=OUT-1&vehicle=217").text
    assert 'value="OUT-1"' in form and 'value="217"' in form
    lone = browser.get(f"/drives/{register_id('out-1')}").text
    assert "nobody has registered it" in lone and 'action="/drives/D-' not in lone


def test_a_long_list_is_cut_into_pages(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(view_drives, "PAGE", 2)
    at = drive_desk(browser.server.services)
    vehicle = browser.server.services.shelf.fleet().vehicle("217")
    for number in range(3):
        drive_visit(at, f"OUT-{number}", f"IN-{number}", vehicle)
    pages = [browser.get(f"/drives?page={number}").text for number in (1, 2, 3, 4)]
    whole = {state["id"] for state in browser.get(f"{PREFIX}/drives").json()}
    shown = [
        set(re.findall(r'<th scope="row"><a class="figure break" href="/drives/([^"]+)"', one))
        for one in pages
    ]
    assert [len(one) for one in shown[:3]] == [2, 2, len(whole) - 4]
    assert set().union(*shown) == whole
    assert 'href="/drives?page=2"' in pages[0] and 'href="/drives?page=1"' in pages[1]
    found = browser.get(f"{PREFIX}/drives/findings").json()
    last = -(-len(found) // 2)
    assert f"{last}/{last}" in told(browser.get("/drives?page=99").text)
    assert f"What does not go together {len(found)}" in told(pages[0])
    # One drive's page works its findings out without the other drives: the same come out.
    looks, all_services = browser.server.looks, browser.server.services
    rows = view_drives.found_rows(all_services, looks.drives())
    for state in looks.drives():
        own = [
            row
            for row in rows
            if row.found.serial == state.serial
            or (row.found.kind == "too-many" and row.found.vehicle == state.vehicle)
        ]
        shown_here = view_drives.drive_view(state.serial, looks, all_services).found
        assert list(shown_here) == own and own
    cut = told(browser.get("/drives?q=out&page=1").text)
    assert "Drives that fit 3" in cut
    assert 'href="/drives?page=2&amp;q=out"' in browser.get("/drives?q=out").text


def test_a_drive_step_asks_which_drives(browser: Browser) -> None:
    send(browser, "/drives/new", NEW | {"vehicle": "217"})
    visit = send(browser, "/vehicles/217/open", {"procedure": "drive-swap", "by": "Bo"})
    step = next(one for one in browser.get(f"{PREFIX}{visit}").json()["steps"]
                if one["kind"] == "drive")  # fmt: skip
    for gate in step["gates"]:
        if gate["may_override"]:
            state = browser.get(f"{PREFIX}{visit}").json()
            fields = {"head": state["head"], "by": "Bo", "step": step["id"], "reason": "a test"}
            send(browser, f"{visit}/override", fields | {"gate": gate["gate"]})
    page = browser.get(visit).text
    assert 'name="drive_out"' in page and "By the register it is:" in page and PAGE in page
    state = browser.get(f"{PREFIX}{visit}").json()
    fields = {"head": state["head"], "by": "Bo", "step": step["id"], "act": "done"}
    wrong = browser.post(f"{visit}/done", data=fields | {"csrf": token(browser), "drive_out": "##"})
    assert wrong.status_code == 422 and 'value="##"' in wrong.text
    send(browser, f"{visit}/done", fields | {"drive_out": SERIAL, "drive_in": "IN-9"})
    told_of = browser.get(f"{PREFIX}{PAGE}").json()
    assert (told_of["place"], told_of["holder"]) == ("bag", "Bo")
    assert browser.get(f"{PREFIX}/drives/in-9").json()["vehicle"] == "217"


def test_two_seats_do_not_write_over_one_another(browser: Browser) -> None:
    send(browser, "/drives/new", NEW)
    seen = head(browser)
    act(browser, "put", place="desk", reason="to be read")
    late = {"csrf": token(browser), "head": seen, "by": "Bo", "vehicle": "217", "reason": "spare"}
    answer = browser.post(f"{PAGE}/fitted", data=late)
    assert answer.status_code == 409 and "somebody else wrote here" in answer.text
    assert "put it away:" in told(answer.text.split('id="since"')[1])
    assert 'value="spare"' in answer.text
    assert browser.get(f"{PREFIX}{PAGE}").json()["place"] == "desk"
    for kind in ("fitted", "judged"):
        assert browser.post(f"{PAGE}/{kind}", data={"head": head(browser)}).status_code == 403


REFUSED = (
    ("pulled", {"vehicle": "999", "reason": "x"}, "no vehicle"),
    ("pulled", {"vehicle": "217", "reason": " "}, "say why"),
    ("handed", {"to": "ada", "reason": "x"}, "name somebody else"),
    ("handed", {"to": "Bo", "reason": "x", "picture": "data:image/png;base64,!"}, "base64"),
    ("put", {"place": "moon", "reason": "x"}, "choose one of"),
    ("found", {"reason": "x"}, "where it was found"),
    ("wiped", {"reason": "x", "method": "m", "tool": "t", "category": "rinse"}, "clear, purge"),
    ("put", {"place": "bag", "reason": "x", "when": "2099-01-01T08:00"}, "in the future"),
)


def test_what_cannot_be_is_refused_and_typed_text_comes_back(browser: Browser) -> None:
    send(browser, "/drives/new", NEW)
    known = {"csrf": token(browser), "head": head(browser), "by": "Ada"}
    for kind, wrong, says in REFUSED:
        answer = browser.post(f"{PAGE}/{kind}", data=known | wrong)
        assert answer.status_code in (404, 422) and says in answer.text, (kind, wrong)
        assert f'id="{kind}" open' in answer.text
    assert len(browser.get(f"{PREFIX}{PAGE}").json()["events"]) == 1
    for wrong, says in (
        ({"serial": "a b/c"}, "copy it from"), ({"size": "big"}, "as its label has it"),
        ({"vehicle": "999"}, "no vehicle"), ({"serial": " "}, "serial number"),
    ):  # fmt: skip
        answer = browser.post("/drives/new", data={**known, **NEW, **wrong})
        assert answer.status_code == 422 and says in answer.text
    assert len(browser.get(f"{PREFIX}/drives").json()) == 1


def test_health_is_kept_and_another_drives_report_is_refused(browser: Browser) -> None:
    send(browser, "/drives/new", NEW)
    failing = ssd(smart_status={"passed": False})
    for serial, status in (("OTHER-1", 422), (SERIAL, 303)):
        data = text(failing | {"serial_number": serial})
        fields = {"csrf": token(browser), "head": head(browser), "by": "Ada"}
        answer = browser.post(
            f"{PAGE}/judged", data=fields, files={"report": ("d.json", data, "application/json")}
        )
        assert answer.status_code == status, answer.text
    assert browser.get(f"{PREFIX}{PAGE}").json()["health"] == "failing"
    assert "By its health: do not fit it." in browser.get(PAGE).text


def test_german_pages_of_drives_hold_no_english(browser: Browser) -> None:
    send(browser, "/drives/new", NEW | {"vehicle": "217"})
    at = drive_desk(browser.server.services)
    vehicle = browser.server.services.shelf.fleet().vehicle("217")
    drive_visit(at, "", "IN-1", vehicle)
    act(browser, "fitted", vehicle="41", reason="Ersatz")
    act(browser, "pulled", vehicle="41", reason="Schaden", by="Bo")
    act(browser, "put", place="store", where="Regal 2", reason="Schaden", by="Ada")
    act(browser, "handed", to="Cem", reason="Schaden", by="Ada")
    act(browser, "wiped", category="clear", method="dd", tool="dd 9", reason="Schaden")
    act(browser, "retired", how="verschrottet", reason="Schaden", by="Bo")
    act(browser, "found", where="Schrank", reason="Schaden", by="Cem")
    known = {SERIAL, "Ada", "Schaden", "verschrottet", "Brindlemere", "Disk swapped or formatted"}
    browser.headers["Accept-Language"] = "de"
    paths = ["/drives", "/drives?q=zebra", PAGE, "/drives/new", "/drives/none"]
    left = [
        f"{path}: {line}"
        for path in (*paths, f"/drives/{register_id('in-1')}")
        for line in english(browser.get(path).text, known)
        if MARKUP not in line
    ]
    assert not left, "\n".join(left)
