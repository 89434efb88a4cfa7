"""The HTTP interface: the same jobs, one shape of error, its own description."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.web.kit import Browser, services

from asfound.errors import AsfoundError
from asfound.web.problems import KINDS, kind_of

API = "/api/v1"


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    made = Browser(services(tmp_path))
    made.headers["X-CSRF-Token"] = made.get(f"{API}/session").json()["csrf_token"]
    return made


@pytest.fixture
def visit(browser: Browser) -> dict[str, Any]:
    wanted = {"vehicle": "217", "procedure": "inspection", "by": "ada"}
    answer = browser.post(f"{API}/visits", json=wanted)
    assert answer.status_code == 201, answer.text
    made: dict[str, Any] = answer.json()
    return made


def test_fleet_and_vehicles(browser: Browser, visit: dict[str, Any]) -> None:
    assert browser.get(f"{API}/fleet").json()["depots"] == ["North", "South"]
    listed = browser.get(f"{API}/vehicles", params={"with_open_visit": True}).json()
    assert [row["vehicle"]["number"] for row in listed["vehicles"]] == ["217"]
    assert listed["vehicles"][0]["open_visit"]["head"] == visit["head"]
    keys = [row["vehicle"]["key"] for row in browser.get(f"{API}/vehicles").json()["vehicles"]]
    for key in keys:
        assert browser.get(f"{API}/vehicles/{key}").status_code == 200


def test_a_visit_step_by_step(browser: Browser, visit: dict[str, Any]) -> None:
    path = f"{API}/visits/{visit['id']}"
    step = visit["steps"][0]
    assert (step["state"], step["may_tick"]) == ("now", True)
    done = browser.post(
        f"{path}/steps/{step['id']}/done", json={"head": visit["head"], "by": "ada", "note": "x"}
    ).json()
    assert done["steps"][0]["done_by"] == "ada"
    noted = browser.post(
        f"{path}/notes", json={"head": done["head"], "by": "ada", "note": "seal broken"}
    )
    assert noted.status_code == 201
    gate = {"step": "close", "gate": "recording-proved", "reason": "no footage yet"}
    passed = browser.post(
        f"{path}/overrides", json={"head": noted.json()["head"], "by": "ada", **gate}
    )
    assert passed.status_code == 201
    closing = browser.post(f"{path}/close", json={"head": passed.json()["head"], "by": "ada"})
    assert closing.status_code == 409
    assert closing.json()["type"].endswith("/gate-shut")
    listed = browser.get(f"{API}/visits", params={"state": "open", "vehicle": "217"}).json()
    assert [line["done"] for line in listed] == [1]


def test_an_older_head_is_a_conflict_that_says_what_is_new(
    browser: Browser, visit: dict[str, Any]
) -> None:
    path = f"{API}/visits/{visit['id']}"
    body = {"head": visit["head"], "by": "ada", "note": "first"}
    first = browser.post(f"{path}/notes", json=body).json()
    answer = browser.post(f"{path}/notes", json=body)
    problem = answer.json()
    assert answer.status_code == 409
    assert problem["type"].endswith("/head-moved")
    assert problem["head"] == first["head"]
    assert [item["kind"] for item in problem["since"]] == ["noted"]


def test_problems_have_one_shape(browser: Browser) -> None:
    # RFC 9457, section 3.1: type, status, title, detail, instance; application/problem+json.
    answers = [
        browser.get(f"{API}/visits/nobody"),
        browser.get(f"{API}/nope"),
        browser.get(f"{API}/vehicles", params={"page": "x"}),
        browser.post(f"{API}/visits", json={"vehicle": "217"}),
        browser.post(f"{API}/visits", content=b"{", headers={"Content-Type": "application/json"}),
        browser.delete(f"{API}/fleet"),
        browser.get(f"{API}/fleet", headers={"Host": "evil.example"}),
    ]
    for answer in answers:
        problem = answer.json()
        assert 400 <= answer.status_code < 500
        assert answer.headers["content-type"] == "application/problem+json"
        assert {"type", "title", "status", "detail", "instance"} <= set(problem)
        assert problem["status"] == answer.status_code
        described = browser.get(problem["type"]).json()
        assert described["title"] == problem["title"]


def test_every_error_raised_on_purpose_is_a_kind_of_problem() -> None:
    classes = AsfoundError.__subclasses__()
    assert len(classes) >= 11
    for cls in classes:
        assert kind_of(cls("x")) is KINDS[cls]


def test_the_description_covers_every_resource(browser: Browser) -> None:
    described = browser.get(f"{API}/openapi.json").json()
    assert described["openapi"].startswith("3.")
    paths = set(described["paths"])
    assert {f"{API}/visits/{{visit}}", f"{API}/vehicles/{{key}}", f"{API}/fleet"} <= paths
    assert all(path.startswith(API) for path in paths), "pages are no resources"
    told = described["paths"][f"{API}/visits"]["post"]["responses"]
    assert "application/problem+json" in told["4XX"]["content"] and "422" not in told
