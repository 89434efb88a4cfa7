"""Whatever the interface's description allows is answered, and never by a fault of ours.

Schemathesis makes up requests from the description; half of them name what is really there.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any, cast

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient
from tests.proof_visit import BY, ready_to_prove
from tests.web.kit import LAPTOP, PORT

from asfound.cli.home import home_at
from asfound.cli.serve_parts import services
from asfound.demo.scenario import FLEET_FILE, VEHICLE
from asfound.jobs.footage_requests import AddRequest, add_request
from asfound.jobs.visit_record import RecordProof, record_proof
from asfound.model.finding import Finding, Kind, Proof, ProofVerdict, Recording
from asfound.web.app import create_app
from asfound.web.security import host_names
from asfound.web.services import Settings

EXAMPLES = 10
"""Requests of each operation; more with HYPOTHESIS_PROFILE=search."""

ENDLESS = "/api/v1/visits/{visit}/events"
"""A stream that ends with the server; tests/web/test_security.py and the journeys listen to it."""

PIECES = "application/offset+octet-stream"
"""Pieces of files; for Schemathesis, any bytes."""

schemathesis.serializer.alias(PIECES, "application/octet-stream")

REQUEST = "ask-217-1"

START = datetime(2026, 11, 25, 19, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    folder = tmp_path_factory.mktemp("home")
    (folder / "fleet.toml").write_bytes(FLEET_FILE.read_bytes())
    home = home_at(folder)
    visit, desk = ready_to_prove(home), home.desk()
    black = Finding(Kind.BLACK, 0.0, 2.0, 0.5, 0.98, "1", "a source")
    taken = Recording("a.mp4", 1, "h264", 640, 360, 12.0, 10.0, 5e5, START, (black,))
    proof = Proof(ProofVerdict.FAULTS, (taken,), (4,))
    record_proof(RecordProof(visit, proof, BY), desk=desk)
    vehicle, moment = home.fleet().vehicle(VEHICLE), home.desk().clock.now()
    asked = AddRequest(vehicle, moment - timedelta(hours=2), moment, (), "claim", "insurer", BY)
    made = add_request(asked, log=home.requests(), store=home.store(), clock=desk.clock)
    assert made.id == REQUEST
    app = create_app(services(home), Settings(host_names(["localhost"], PORT)))
    base = f"http://localhost:{PORT}"
    browser = TestClient(app, base, client=LAPTOP, raise_server_exceptions=False)
    browser.headers["X-CSRF-Token"] = browser.get("/api/v1/session").json()["csrf_token"]
    browser.headers["X-Visit"] = visit
    yield browser


def operations(client: TestClient) -> list[Any]:
    schema = schemathesis.openapi.from_dict(client.get("/api/v1/openapi.json").json())
    found: list[Any] = [cast(Any, result).ok() for result in schema.get_all_operations()]
    return [item for item in found if item.path != ENDLESS]


def test_no_request_that_the_description_allows_is_a_fault(client: TestClient) -> None:
    visit = client.headers.pop("X-Visit")
    every = operations(client)
    assert len(every) > 20
    faults: list[str] = []
    good: set[str] = set()

    def ask(case: Any, real: bool) -> None:
        if real:
            there = {"visit": visit, "key": VEHICLE, "step": "prove", "name": "usage",
                     "request": REQUEST}  # fmt: skip
            params = case.path_parameters or {}
            case.path_parameters = {name: there.get(name, value) for name, value in params.items()}
            if isinstance(case.body, dict) and "head" in case.body:
                asked = f"requests/{REQUEST}" if "requests" in case.path else f"visits/{visit}"
                case.body["head"] = client.get(f"/api/v1/{asked}").json()["head"]
        kwargs = case.as_transport_kwargs(base_url=str(client.base_url))
        kwargs.pop("cookies", None)
        headers = {name: str(value) for name, value in (kwargs.pop("headers") or {}).items()}
        headers = {name: value for name, value in headers.items() if name.lower() != "x-csrf-token"}
        answer = client.request(
            kwargs["method"],
            kwargs["url"],
            params=kwargs.get("params"),
            json=kwargs.get("json"),
            content=_bytes(kwargs.get("data")),
            headers=headers,
        )
        if answer.status_code >= 500:
            faults.append(f"{case.method} {case.formatted_path}: {answer.status_code} {kwargs}")
        elif answer.status_code >= 400:
            assert answer.headers["content-type"] == "application/problem+json", answer.text
        else:
            good.add(f"{case.method} {case.operation.path}")

    for operation in every:
        run = settings(
            max_examples=EXAMPLES,
            deadline=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
            derandomize=True,
            database=None,
        )
        run(given(case=operation.as_strategy(), real=st.booleans())(ask))()
    assert faults == []
    # Requests that are all turned away at the door would show nothing.
    assert len(good) > len(every) / 2, sorted(good)


def _bytes(data: object) -> bytes | None:
    return data if isinstance(data, bytes) else None
