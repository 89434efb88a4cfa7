"""Find the fault: symptoms, likely causes, the next check; and what it was, kept in a visit."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.problems import Problem, kind_of
from asfound.web.session import NAME_COOKIE
from asfound.web.view_fault import CAUSES, FaultAsk, load_fault
from asfound.web.visit_acts import FaultAct, keep_fault

router = APIRouter()


@router.get("/bench/fault")
def show(here: Asked) -> Response:
    """The symptoms to choose from, and what follows from those in the address."""
    return fault_page(here, FaultAsk.of(here.request.query_params.multi_items()), {}, None)


@router.post("/visits/{visit}/fault")
def keep(here: Asked, visit: str, form: Form) -> Response:
    """Records what the fault came from."""
    act = FaultAct(
        visit,
        form.get("head", ""),
        form.get("by", "").strip() or here.name,
        form.get("cause", ""),
        form.get("known", ""),
        form.get("note", ""),
        bool(form.get("instead")),
    )
    try:
        keep_fault(act, here)
    except (AsfoundError, Problem) as error:
        return fault_page(here, _again(act), form, error)
    here.server.hub.wake(visit)
    answer = here.go(f"/visits/{visit}")
    remember(answer, NAME_COOKIE, act.by)
    return answer


def _again(act: FaultAct) -> FaultAsk:
    """What was known when the form was sent; nothing when that cannot be read."""
    try:
        known = FaultAsk.query(act.known)
    except AsfoundError:
        known = FaultAsk()
    return FaultAsk(
        known.symptoms, known.without, known.checked, known.tried, known.sure, act.visit
    )


def fault_page(
    here: Here, ask: FaultAsk, typed: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    """The page; ``typed`` is put back into the form that ``error`` came from."""
    try:
        page = load_fault(ask, here.services)
    except (AsfoundError, Problem) as fault:
        # What is off in the address is told; symptoms can be chosen anew. A visit or guide that
        # cannot be read fails again, and is told by the page of errors.
        error = error or fault
        page = load_fault(ask, here.services, answered=False)
    return here.page(
        "bench-fault.html.j2",
        kind_of(error).status if error is not None else 200,
        page=page,
        answer=page.answer,
        typed=typed,
        error=error,
        most=CAUSES,
    )
