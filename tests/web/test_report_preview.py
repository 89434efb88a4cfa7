"""The report's pages as pictures: at once when it is small; a large one shows how far it is, is
stopped, and made when somebody asks again."""

from __future__ import annotations

import re
import threading
from pathlib import Path
from typing import Any

import pytest
from tests.web.kit import Browser, send, services

from asfound.errors import MissingPart
from asfound.ports.progress import Progress
from asfound.web import report_preview
from asfound.web.pages import report

WAIT_S = 30.0


class Slow:
    """Makes two pages once it is let go."""

    def __init__(self) -> None:
        self.go = threading.Event()
        self.made = 0

    def __call__(self, request: Any, *, tools: Any, progress: Progress) -> tuple[bytes, ...]:
        progress(1, 2, "")
        assert self.go.wait(WAIT_S)
        progress(2, 2, "")
        self.made += 1
        return b"one", b"two"


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Slow:
    made = Slow()
    monkeypatch.setattr(report, "report_pictures", made)
    monkeypatch.setattr(report_preview, "AT_ONCE_S", 0.05)
    return made


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path))


@pytest.fixture
def visit(browser: Browser) -> str:
    fields = {"procedure": "inspection", "by": "Ines", "firmware": "1.0"}
    return send(browser, "/vehicles/217/open", fields).rpartition("/")[2]


def ended(browser: Browser, visit: str) -> str:
    task = browser.server.tasks.of(visit)[-1]
    return browser.server.tasks.wait(task.id, WAIT_S).state


def test_a_large_report_shows_how_far_it_is(browser: Browser, visit: str, slow: Slow) -> None:
    path = f"/visits/{visit}/report/preview"
    page = browser.get(path).text
    assert "are being made" in page and 'max="2" value="1"' in page
    assert "are being made" in browser.get(path).text, "who looks twice begins nothing twice"
    slow.go.set()
    assert ended(browser, visit) == "done"
    assert "Page 2 of 2" in browser.get(path).text
    assert browser.get(f"/visits/{visit}/report/pages/2.png").content == b"two"
    assert slow.made == 1


def test_it_is_stopped_and_made_when_asked_again(browser: Browser, visit: str, slow: Slow) -> None:
    path = f"/visits/{visit}/report/preview"
    browser.get(path)
    assert send(browser, f"{path}/stop") == f"/visits/{visit}/report"
    slow.go.set()
    assert ended(browser, visit) == "stopped"
    assert "was stopped" in browser.get(path).text, "looking alone does not begin it again"
    assert slow.made == 0
    browser.get(f"{path}?make=1")
    assert ended(browser, visit) == "done"
    assert "Page 2 of 2" in browser.get(path).text


def test_asking_again_before_it_has_stopped_makes_it(
    browser: Browser, visit: str, slow: Slow, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = f"/visits/{visit}/report/preview"
    browser.get(path)
    send(browser, f"{path}/stop")
    monkeypatch.setattr(report_preview, "AT_ONCE_S", WAIT_S)
    # The piece at hand ends only while the page waits: the stop is carried out after the question.
    letting_go = threading.Timer(0.2, slow.go.set)
    letting_go.start()
    assert "Page 2 of 2" in browser.get(f"{path}?make=1").text
    letting_go.join()
    assert slow.made == 1


def test_a_visit_that_grew_meanwhile_gets_its_own_pages(
    browser: Browser, visit: str, slow: Slow, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = f"/visits/{visit}/report/preview"
    browser.get(path)
    head = re.search(r'data-head="([0-9a-f]+)"', browser.get(path).text)
    assert head
    fields = {"head": head[1], "by": "Ines", "note": "one more thing"}
    send(browser, f"/visits/{visit}/note", fields)
    monkeypatch.setattr(report_preview, "AT_ONCE_S", WAIT_S)
    letting_go = threading.Timer(0.2, slow.go.set)
    letting_go.start()
    assert "Page 2 of 2" in browser.get(path).text
    letting_go.join()
    assert slow.made == 2


def test_what_goes_wrong_is_said(
    browser: Browser, visit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(request: Any, *, tools: Any, progress: Progress) -> tuple[bytes, ...]:
        raise MissingPart("typst is not installed; pip install typst")

    monkeypatch.setattr(report, "report_pictures", fails)
    browser.get(f"/visits/{visit}/report/preview")
    assert ended(browser, visit) == "failed"
    assert "typst is not installed" in browser.get(f"/visits/{visit}/report/preview").text
