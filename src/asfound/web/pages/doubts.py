"""Doubts: one at a time, with its picture, the likeliest values as buttons, and a way back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from starlette.responses import Response

from asfound.errors import AsfoundError, GateShut, UsageError
from asfound.model.kinds import FieldType, IPv4, Number
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.heads import HeadMoved
from asfound.web.problems import Problem, kind_of
from asfound.web.session import NAME_COOKIE
from asfound.web.settling import (
    SKIP,
    Answer,
    DoubtsView,
    blank_of,
    doubts_view,
    finish,
    give,
    undo,
)
from asfound.web.step_pages import STEP_PAGES
from asfound.web.wording import ENTRIES

router = APIRouter(prefix="/visits/{visit}/doubts")

Trouble = AsfoundError | Problem | None


@router.get("")
def show(
    here: Asked,
    visit: str,
    moment: Annotated[str, Query(max_length=10)] = "",
    past: Annotated[str, Query(max_length=8000)] = "",
) -> Response:
    """The doubt that is asked now."""
    return _page(here, visit, {"moment": moment, "past": past}, None)


@router.post("")
def act(here: Asked, visit: str, form: Form) -> Response:
    """Takes an answer, skips, or goes one back."""
    by, past = here.name, _past(form)
    try:
        match form.get("act", ""):
            case "skip":
                past = (*past, SKIP + form.get("field", ""))
            case "undo":
                past = _undone(here, visit, form, past)
            case "finish":
                finish(_answer(visit, form, by), here.services)
                here.server.hub.wake(visit)
                return here.go(f"/visits/{visit}")
            case _:
                give(_given(here, visit, form, by), here.services)
                past = (*past, form.get("field", ""))
    except (AsfoundError, Problem) as error:
        return _page(here, visit, form, error)
    here.server.hub.wake(visit)
    return here.go(_address(visit, form.get("moment", ""), past))


@router.post("/name")
def name(here: Asked, visit: str, form: Form) -> Response:
    """Keeps who settles."""
    answer = here.go(_address(visit, form.get("moment", ""), _past(form)))
    remember(answer, NAME_COOKIE, " ".join(form.get("by", "").split()))
    return answer


def _given(here: Here, visit: str, form: Mapping[str, str], by: str) -> Answer:
    made = _answer(visit, form, by)
    if form.get("act") == "blank":
        value = blank_of(made.field, visit, here.services)
        return Answer(visit, made.head, by, made.field, value, None, made.as_left)
    if "value" in form:
        return Answer(visit, made.head, by, made.field, form["value"], None, made.as_left)
    text = form.get("text", "")
    if not text.strip():
        raise UsageError("nothing was typed; type the value, or choose blank")
    return Answer(visit, made.head, by, made.field, None, text, made.as_left)


def _undone(
    here: Here, visit: str, form: Mapping[str, str], past: tuple[str, ...]
) -> tuple[str, ...]:
    view = doubts_view(visit, _left(form), past, here.name, here.services)
    if view.undo is None:
        raise UsageError("nothing to undo")
    if view.undo.settled:
        # Only what the page named is taken back: the answer under the button may be another now.
        if form.get("field", "") != view.undo.field:
            raise UsageError("somebody answered in between; look at what would be taken back")
        undo(_answer(visit, form, here.name), here.services)
    gone = view.undo.field if view.undo.settled else SKIP + view.undo.field
    kept = list(past)
    if gone in kept:
        del kept[len(kept) - 1 - kept[::-1].index(gone)]
    return tuple(kept)


def _answer(visit: str, form: Mapping[str, str], by: str) -> Answer:
    return Answer(visit, form.get("head", ""), by, form.get("field", ""), as_left=_left(form))


def _page(here: Here, visit: str, form: Mapping[str, str], error: Trouble) -> Response:
    view: DoubtsView | None = None
    refusal = ""
    try:
        view = doubts_view(visit, _left(form), _past(form), here.name, here.services)
    except (GateShut, UsageError) as locked:
        refusal = str(locked)
    return here.page(
        "doubts.html.j2",
        kind_of(error).status if error is not None else 200,
        step_pages=STEP_PAGES,
        visit=visit,
        view=view,
        refusal=refusal,
        moment_name=form.get("moment", ""),
        typed=form,
        error=error,
        since=error.since if isinstance(error, HeadMoved) else (),
        entries=ENTRIES,
        keys=_keys(view.question.kind) if view and view.question else "text",
    )


def _keys(kind: FieldType) -> str:
    """Which keys a phone shows for the type-in."""
    return "decimal" if isinstance(kind, Number | IPv4) else "text"


def _left(form: Mapping[str, str]) -> bool | None:
    return False if form.get("moment") == "found" else None


def _past(form: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(item for item in form.get("past", "").split(",") if item)


def _address(visit: str, moment: str, past: tuple[str, ...]) -> str:
    query = {"moment": moment, "past": ",".join(past[-60:])}
    told = urlencode({key: value for key, value in query.items() if value})
    return f"/visits/{visit}/doubts" + (f"?{told}" if told else "")
