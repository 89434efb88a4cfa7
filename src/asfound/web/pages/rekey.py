"""The re-key sheet: keys drawn, settings ticked off, one at a time or page by page."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError, UsageError
from asfound.jobs.key_ticks import TickKeys, clear_ticks, tick_keys
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.heads import HeadMoved
from asfound.web.problems import Problem, kind_of
from asfound.web.session import NAME_COOKIE
from asfound.web.step_pages import STEP_PAGES
from asfound.web.view_rekey import load_rekey
from asfound.web.wording import ENTRIES
from asfound.web.work_acts import plan

router = APIRouter(prefix="/visits/{visit}/rekey")

LAYOUTS = ("one", "pages")
"""One setting at a time, large; or the whole sheet."""


@router.get("")
def show(here: Asked, visit: str, layout: str = LAYOUTS[0], at: str = "") -> Response:
    """The sheet as it stands."""
    return _page(here, visit, {"layout": layout, "at": at}, None)


@router.post("/plan")
def make_plan(here: Asked, visit: str, form: Form) -> Response:
    """Works the keys out, or works them out anew."""
    by = _by(here, form)
    try:
        plan(visit, form.get("head", ""), by, here.services)
    except (AsfoundError, Problem) as error:
        return _page(here, visit, form, error)
    return _back(here, visit, form, by)


@router.post("/tick")
def tick(here: Asked, visit: str, form: Form) -> Response:
    """Ticks a setting off, or takes the tick back."""
    by = _by(here, form)
    done, taken_back = form.get("done", ""), form.get("undo", "")
    try:
        if not (done or taken_back):
            raise UsageError("choose the setting that you keyed in")
        tick_keys(TickKeys(visit, done or taken_back, by, bool(done)), desk=here.services.desk)
    except AsfoundError as error:
        return _page(here, visit, form, error)
    return _back(here, visit, {**form, "at": taken_back}, by)


@router.post("/clear")
def clear(here: Asked, visit: str, form: Form) -> Response:
    """Takes every tick back."""
    by = _by(here, form)
    try:
        clear_ticks(visit, by, desk=here.services.desk)
    except AsfoundError as error:
        return _page(here, visit, form, error)
    return _back(here, visit, form, by)


def _by(here: Here, form: Mapping[str, str]) -> str:
    return form.get("by", "").strip() or here.name


def _layout(form: Mapping[str, str]) -> str:
    chosen = form.get("layout", "")
    return chosen if chosen in LAYOUTS else LAYOUTS[0]


def _back(here: Here, visit: str, form: Mapping[str, str], by: str) -> Response:
    here.server.hub.wake(visit)
    at = form.get("at", "")
    # Only what a mark can be made of goes back into an address.
    more = f"&at={at}" if at.isalnum() and at.isascii() else ""
    answer = here.go(f"/visits/{visit}/rekey?layout={_layout(form)}{more}")
    remember(answer, NAME_COOKIE, by)
    return answer


def _page(
    here: Here, visit: str, form: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    view = load_rekey(visit, here.services)
    return here.page(
        "rekey.html.j2",
        kind_of(error).status if error is not None else 200,
        view=view,
        layout=_layout(form),
        now=view.now(form.get("at", "")),
        typed=form,
        error=error,
        since=error.since if isinstance(error, HeadMoved) else (),
        entries=ENTRIES,
        step_pages=STEP_PAGES,
    )
