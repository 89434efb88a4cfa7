"""The settings as left against what was agreed: what is open first, every setting accounted for."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.heads import HeadMoved
from asfound.web.problems import Problem, kind_of
from asfound.web.session import NAME_COOKIE
from asfound.web.step_pages import STEP_PAGES
from asfound.web.view_compare import load_compare
from asfound.web.wording import ENTRIES
from asfound.web.work_acts import compare

router = APIRouter(prefix="/visits/{visit}/compare")


@router.get("")
def show(here: Asked, visit: str) -> Response:
    """The comparison as it stands."""
    return _page(here, visit, {}, None)


@router.post("")
def run(here: Asked, visit: str, form: Form) -> Response:
    """Compares the last round."""
    by = form.get("by", "").strip() or here.name
    try:
        compare(visit, form.get("head", ""), by, here.services)
    except (AsfoundError, Problem) as error:
        return _page(here, visit, form, error)
    here.server.hub.wake(visit)
    answer = here.go(f"/visits/{visit}/compare")
    remember(answer, NAME_COOKIE, by)
    return answer


def _page(
    here: Here, visit: str, form: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    return here.page(
        "compare.html.j2",
        kind_of(error).status if error is not None else 200,
        view=load_compare(visit, here.services),
        typed=form,
        error=error,
        since=error.since if isinstance(error, HeadMoved) else (),
        entries=ENTRIES,
        step_pages=STEP_PAGES,
        pages={page.path: page for page in STEP_PAGES},
    )
