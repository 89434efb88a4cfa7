"""Finding a fault on its page, without a script: answers are links, steps go back."""

from __future__ import annotations

import html
import re
from pathlib import Path
from urllib.parse import parse_qsl, urlencode, urlsplit

import pytest
from httpx2 import Response
from hypothesis import given
from hypothesis import strategies as st
from tests.jobs.test_visit_fault import close
from tests.visit_kit import opened
from tests.web.kit import MARKUP, Browser, send, services, token

from asfound.web.view_fault import FaultAsk

PAGE = "/bench/fault"


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    made = Browser(services(tmp_path))
    made.headers["X-CSRF-Token"] = made.get("/api/v1/session").json()["csrf_token"]
    return made


def link(page: str, words: str) -> str:
    """Where the link with these words leads."""
    found = re.findall(r'<a[^>]*href="([^"]+)"[^>]*>((?:(?!</a>).)*)</a>', page, re.S)
    there = [html.unescape(at) for at, text in found if words in re.sub(r"<[^>]+>", "", text)]
    assert there, words
    return there[0]


def sent(browser: Browser, visit: str, fields: dict[str, str]) -> Response:
    """The answer to a form that is not taken."""
    made: Response = browser.post(f"/visits/{visit}/fault", data={"csrf": token(browser), **fields})
    return made


def head(browser: Browser, visit: str) -> str:
    return browser.server.services.desk.store.heads([visit])[visit][1]


def test_it_opens_with_what_can_be_seen(browser: Browser) -> None:
    page = browser.get(PAGE).text
    assert 'name="symptom" value="no-power-light"' in page and "Choose what is seen" in page
    assert "Likely causes" not in page and "Keep what it was" not in page
    assert 'href="/bench/fault"' in browser.get("/bench").text


def test_from_symptom_to_repair_by_links_and_back(browser: Browser) -> None:
    page = browser.get(f"{PAGE}?symptom=no-power-light").text
    assert "Next check" in page and "Look at the recorder&#39;s fuse" in page
    assert 'value="no-power-light" checked' in page and "27\u00a0%" in page
    first = link(page, "blown")
    assert parse_qsl(urlsplit(first).query) == [
        ("symptom", "no-power-light"), ("checked", "look-at-fuse=blown"),
    ]  # fmt: skip
    page = browser.get(first).text
    assert "Sure enough: Blown fuse, 95\u00a0%" in page and "Find out why it blew" in page
    assert "Batteries burn and burst" in page
    assert f'href="{PAGE}?symptom=no-power-light#answer" aria-label="Take back: Look at' in page
    page = browser.get(link(page, "the fault is still there")).text
    assert "repaired in vain" in page and "Sure enough: Blown fuse" not in page
    page = browser.get(link(page, "could not tell")).text
    assert "could not tell</strong>" in page


def test_another_check_can_be_picked_and_one_that_was_made_is_not_asked(browser: Browser) -> None:
    page = browser.get(f"{PAGE}?symptom=no-power-light").text
    at = link(page, "Measure the supply at the recorder")
    assert "pick=supply-at-plug" in at
    page = browser.get(at).text
    assert '<h2 id="check">Measure the supply' in page
    page = browser.get(link(page, "nothing there")).text
    assert "pick=" not in link(page, "could not tell")
    assert "checked=supply-at-plug" not in re.sub(r"<form.*?</form>", "", page, flags=re.S) or True
    assert '<h2 id="check">Measure the supply at' not in page


def test_a_symptom_ticked_before_and_looked_at_later_counts_once(browser: Browser) -> None:
    page = browser.get(f"{PAGE}?symptom=gaps&symptom=gaps&checked=gaps%3Dno&without=no-drive")
    assert page.status_code == 200 and 'name="symptom" value="gaps"' not in page.text
    assert "Recordings have gaps: <strong>no" in page.text


@pytest.mark.parametrize(
    ("query", "status", "says"),
    [
        ("symptom=dragon", 422, "no symptom"),
        ("checked=look-at-fuse", 422, "write a check and its outcome"),
        ("checked=look-at-fuse%3Dmelted", 422, "no outcome"),
        ("symptom=gaps&sure=3", 422, "write 90%"),
        ("tried=%3Cscript%3E", 422, "no cause"),
        ("symptom=gaps&visit=nope", 404, "no visit"),
        ("symptom=gaps&pick=dragon", 200, "Next check"),
    ],
)  # fmt: skip
def test_what_is_off_in_an_address_is_said(
    browser: Browser, query: str, status: int, says: str
) -> None:
    page = browser.get(f"{PAGE}?{query}")
    assert page.status_code == status and says in page.text
    assert "<script>" not in page.text.replace('<script type="module"', "")
    if status == 422:
        assert 'name="symptom"' in page.text and 'role="alert"' in page.text


def test_a_visit_keeps_what_it_was_and_the_next_one_learns(browser: Browser) -> None:
    at = browser.server.services.desk
    visit = opened(at, "inspection").id
    assert f'href="{PAGE}?visit={visit}"' in browser.get(f"/visits/{visit}").text
    page = browser.get(
        f"{PAGE}?symptom=no-power-light&checked=look-at-fuse%3Dblown&visit={visit}"
    ).text
    [known] = re.findall(r'name="known" value="([^"]+)"', page)
    fields = {"head": head(browser, visit), "known": html.unescape(known), "by": "Ines"}
    answer = sent(browser, visit, {**fields, "cause": ""})
    assert answer.status_code == 422 and "say what it was" in answer.text
    answer = sent(browser, visit, {**fields, "cause": "something-else"})
    assert answer.status_code == 422 and "say in a note" in answer.text
    assert 'value="something-else" selected' in answer.text and "Sure enough" in answer.text
    led = send(browser, f"/visits/{visit}/fault", {**fields, "cause": "fuse", "note": MARKUP})
    page = browser.get(led).text
    assert led == f"/visits/{visit}" and "Blown fuse" in page and MARKUP not in page
    assert sent(browser, visit, {**fields, "cause": "earth"}).status_code == 409
    again = {**fields, "head": head(browser, visit), "cause": "earth", "instead": "1"}
    assert "Bad earth" in browser.get(send(browser, f"/visits/{visit}/fault", again)).text
    close(visit, at)
    page = browser.get(f"{PAGE}?symptom=gaps&visit={visit}").text
    assert "Faults learned from: 1, in closed visits: 1." in page
    assert "is closed and takes no more entries" in page


def test_programs_record_and_read(browser: Browser) -> None:
    at = browser.server.services.desk
    visit = opened(at, "inspection").id
    body = {
        "head": head(browser, visit), "by": "Ines", "cause": "camera",
        "symptoms": ["one-camera-dark"], "without": ["gaps"],
        "checked": ["channel-page=right", "open-camera-plug=could-not-tell"],
        "tried": ["lens"], "note": "wet",
    }  # fmt: skip
    made = browser.post(f"/api/v1/visits/{visit}/faults", json=body)
    assert made.status_code == 201 and made.json()["head"] == head(browser, visit)
    [told] = browser.get(f"/api/v1/visits/{visit}/faults").json()["faults"]
    assert (told["cause"], told["symptoms"], told["tried"]) == (
        "camera", ["one-camera-dark"], ["lens"],
    )  # fmt: skip
    assert told["checks"] == [
        {"check": "gaps", "outcome": "no"},
        {"check": "channel-page", "outcome": "right"},
        {"check": "open-camera-plug", "outcome": "could-not-tell"},
    ]
    assert browser.post(f"/api/v1/visits/{visit}/faults", json=body).status_code == 409
    body["head"] = head(browser, visit)
    wrong = {**body, "symptoms": ["dragon"]}
    assert browser.post(f"/api/v1/visits/{visit}/faults", json=wrong).status_code == 422
    assert (
        browser.post(f"/api/v1/visits/{visit}/faults", json={**body, "cause": "x"}).status_code
        == 404
    )


TEXTS = st.text(max_size=12)


@given(st.lists(st.tuples(st.sampled_from(["symptom", "checked", "tried", "visit", "x"]), TEXTS)))
def test_any_address_reads_and_says_itself_again(pairs: list[tuple[str, str]]) -> None:
    ask = FaultAsk.of(pairs)
    assert FaultAsk.of(ask.pairs).pairs == ask.pairs
    assert FaultAsk.query(urlencode(ask.pairs)).pairs == FaultAsk.of(ask.pairs).pairs
