"""What must be deleted and when, what a hold keeps, and the log of what was deleted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.jobs.deletions import LogDeleted, log_deleted
from asfound.jobs.footage_requests import deletion_log
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.problems import Problem, kind_of
from asfound.web.requesting import LogAt, LogMoved
from asfound.web.session import NAME_COOKIE
from asfound.web.view_deletions import deletions_view

router = APIRouter(prefix="/requests/deletions")

Number = Annotated[int, Query(ge=1, le=1_000_000)]


@router.get("")
def show(here: Asked, page: Number = 1) -> Response:
    """What is to be deleted, soonest first."""
    return _page(here, {}, None, page)


@router.post("")
def deleted(here: Asked, form: Form) -> Response:
    """Writes down that something was deleted."""
    services = here.services
    by = form.get("by", "").strip() or here.name
    desk, number = services.desk, _number(form.get("page", ""))
    log = LogAt(services.requests, deletion_log(desk.writer), form.get("head", ""))
    try:
        asked = LogDeleted(form.get("item", ""), by, form.get("note", ""), desk.writer)
        log_deleted(asked, services.shelf.fleet(), log=log, store=desk.store, clock=desk.clock)
    except (AsfoundError, Problem) as error:
        return _page(here, form, error, number)
    answer = here.go(f"/requests/deletions?page={number}")
    remember(answer, NAME_COOKIE, by)
    return answer


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 7 else 1


def _page(
    here: Here, typed: Mapping[str, str], error: AsfoundError | Problem | None, number: int
) -> Response:
    return here.page(
        "deletions.html.j2",
        kind_of(error).status if error is not None else 200,
        view=deletions_view(here.server.looks, here.services, number),
        typed=typed,
        error=error,
        since=error.since if isinstance(error, LogMoved) else (),
    )
