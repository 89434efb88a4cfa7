"""Requests for footage: what to do first, a new one, one with its hours; answer, close, hold."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from asfound.calc.plain_text import plain
from asfound.errors import AsfoundError, NotFound
from asfound.jobs.footage_requests import (
    EndRequest,
    add_request,
    answer_request,
    close_request,
    one_request,
)
from asfound.jobs.request_look import WEEK_D
from asfound.jobs.request_where import FAR
from asfound.jobs.visit_journal import named
from asfound.model.coverage import IgnitionLog
from asfound.model.fleet import Vehicle
from asfound.web.bench_logs import Sent, with_files
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.problems import Problem, kind_of
from asfound.web.request_form import add_request_of, part_of
from asfound.web.requesting import LogAt, LogMoved, hold_for, log_sent
from asfound.web.session import NAME_COOKIE
from asfound.web.view_requests import request_view, requests_view

router = APIRouter(prefix="/requests")

Week = Annotated[float, Query(ge=0.25, le=WEEK_D)]
Number = Annotated[int, Query(ge=1, le=1_000_000)]


@router.get("")
def show_all(here: Asked, closed: bool = False, page: Number = 1) -> Response:
    """Every open request, what to do first on top; then what was answered."""
    view = requests_view(here.server.looks, here.services, closed, page)
    return here.page("requests.html.j2", view=view, everything=closed, far=FAR)


@router.get("/new")
def ask(here: Asked, vehicle: str = "") -> Response:
    """The form for a new one."""
    return _form(here, {"vehicle": vehicle}, None)


@router.post("/new")
def add(here: Asked, form: Form) -> Response:
    """Takes a request down, with its hold where one is wanted."""
    services, by = here.services, _by(here, form)
    desk = services.desk
    try:
        wanted = add_request_of(form, by, services.shelf.fleet(), desk.writer)
        made = add_request(wanted, log=services.requests, store=desk.store, clock=desk.clock)
    except AsfoundError as error:
        return _form(here, form, error)
    return _back(here, made.id, by)


@router.get("/{name}")
def show(here: Asked, name: str, week: Week = WEEK_D) -> Response:
    """One request."""
    return _page(here, name, {}, None, week)


@router.post("/{name}/log")
async def by_log(here: Asked, request: Request, name: str) -> Response:
    """The request's hours by an ignition log that is sent; nothing of it is kept."""
    return await with_files(request, lambda sent: _by_log(here, name, sent))


@router.post("/{name}/answer")
def answer(here: Asked, name: str, form: Form) -> Response:
    """Says what came of it, and which copies were handed over."""
    return _ended(here, name, form, answer_request)


@router.post("/{name}/close")
def close(here: Asked, name: str, form: Form) -> Response:
    """Closes it."""
    return _ended(here, name, form, close_request)


@router.post("/{name}/hold")
def hold(here: Asked, name: str, form: Form) -> Response:
    """Places a hold on what is asked for."""
    by = _by(here, form)
    try:
        hold_for(one_request(here.services.requests, name), named(by), here.services)
    except NotFound:
        raise
    except AsfoundError as error:
        return _page(here, name, form, error)
    return _back(here, name, by)


def _by_log(here: Here, name: str, sent: Sent) -> Response:
    asked, typed = one_request(here.services.requests, name), {**sent.fields, "act": "log"}
    try:
        file = sent.file("log", "an ignition log (CSV) of the vehicle")
        name_of, called = file.filename or "log.csv", typed.get("log_vehicle", "")
        log = log_sent((name_of, file.file.read()), called, asked, here.services)
    except AsfoundError as error:
        return _page(here, name, typed, error)
    return _page(here, name, typed, None, log=(plain(name_of), log))


def _ended(here: Here, name: str, form: Mapping[str, str], act: Callable[..., object]) -> Response:
    services, by = here.services, _by(here, form)
    copies = tuple(form.get("copies", "").splitlines())
    asked = EndRequest(name, by, form.get("reason", ""), copies)
    log = LogAt(services.requests, name, form.get("head", ""))
    try:
        act(asked, log=log, clock=services.desk.clock)
    except NotFound:
        raise
    except (AsfoundError, Problem) as error:
        return _page(here, name, form, error)
    return _back(here, name, by)


def _by(here: Here, form: Mapping[str, str]) -> str:
    return form.get("by", "").strip() or here.name


def _back(here: Here, name: str, by: str) -> Response:
    answer = here.go(f"/requests/{name}")
    remember(answer, NAME_COOKIE, by)
    return answer


def _form(here: Here, typed: Mapping[str, str], error: AsfoundError | None) -> Response:
    return here.page(
        "request-new.html.j2",
        kind_of(error).status if error is not None else 200,
        vehicle=_known(here, typed.get("vehicle", "")),
        typed=typed,
        error=error,
        part=part_of(error),
    )


def _known(here: Here, number: str) -> Vehicle | None:
    """The vehicle, whose cameras are named beside the form; None while it is not known."""
    try:
        return here.services.shelf.fleet().vehicle(number) if number.strip() else None
    except NotFound:
        return None


def _page(
    here: Here,
    name: str,
    typed: Mapping[str, str],
    error: AsfoundError | Problem | None,
    week: float = WEEK_D,
    log: tuple[str, IgnitionLog] | None = None,
) -> Response:
    told = log[1] if log else None
    return here.page(
        "request.html.j2",
        kind_of(error).status if error is not None else 200,
        view=request_view(name, here.server.looks, here.services, week, told),
        log=log[0] if log else "",
        typed=typed,
        error=error,
        since=error.since if isinstance(error, LogMoved) else (),
        week=week,
        far=FAR,
    )
