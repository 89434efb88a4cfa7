"""The report: what it says, its pages to look at, the PDF, and the signatures under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError, NotFound
from asfound.jobs.report import Report
from asfound.jobs.report_visit import (
    ReportTools,
    ReportVisit,
    report_pictures,
    report_visit,
    visit_verdict,
)
from asfound.jobs.visit_journal import load_visit
from asfound.model.journal import canonical_json
from asfound.model.visit import SIGNER_ROLES
from asfound.ports.progress import silent
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.heads import HeadMoved
from asfound.web.problems import Problem, kind_of
from asfound.web.report_preview import Previews, Wanted
from asfound.web.session import NAME_COOKIE
from asfound.web.step_pages import STEP_PAGES
from asfound.web.wording import ENTRIES, ROLES
from asfound.web.work_acts import Signing, sign

router = APIRouter(prefix="/visits/{visit}/report")


@router.get("")
def show(here: Asked, visit: str) -> Response:
    """What the report says, and the form that signs it."""
    return _page(here, visit, {}, None)


@router.get("/preview")
def preview(here: Asked, visit: str, make: bool = False) -> Response:
    """Every page as a picture, or how far making them is. ``make``: also when it was stopped."""
    state = load_visit(visit, store=here.services.desk.store, blobs=here.services.desk.blobs)
    wanted, previews = _wanted(here, visit), _previews(here)
    task = None
    if previews.held(wanted.key) is None:
        task = previews.begin(wanted, here.server.tasks, make)
    pages = previews.held(wanted.key)
    return here.page(
        "report-preview.html.j2",
        state=state,
        count=len(pages) if pages is not None else 0,
        task=task,
        step_pages=STEP_PAGES,
    )


@router.post("/preview/stop")
def stop(here: Asked, visit: str) -> Response:
    """Nobody waits for the pictures any more."""
    _previews(here).stop(_wanted(here, visit), here.server.tasks)
    return here.go(f"/visits/{visit}/report")


@router.get("/pages/{number}.png")
def picture(here: Asked, visit: str, number: int) -> Response:
    """One page as a picture."""
    pages = _previews(here).pages(_wanted(here, visit), silent)
    if not 1 <= number <= len(pages):
        raise NotFound(f"the report has pages 1 to {len(pages)}")
    return Response(pages[number - 1], media_type="image/png")


@router.get(".pdf")
def pdf(here: Asked, visit: str) -> Response:
    """The report itself."""
    return pdf_answer(visit, made_report(here, visit))


@router.post("/sign")
def sign_it(here: Asked, visit: str, form: Form) -> Response:
    """Signs the visit as it stands."""
    name, role = form.get("name", "").strip(), form.get("role", "")
    signing = Signing(visit, form.get("head", ""), name, role, form.get("picture", ""))
    try:
        sign(signing, here.services)
    except (AsfoundError, Problem) as error:
        return _page(here, visit, form, error)
    here.server.hub.wake(visit)
    answer = here.go(f"/visits/{visit}/report")
    if role == SIGNER_ROLES[0]:
        remember(answer, NAME_COOKIE, name)
    return answer


def made_report(here: Here, visit: str) -> Report:
    """The visit's report. Raises as ``report_visit``."""
    return report_visit(_request(here, visit), tools=_tools(here))


def pdf_answer(visit: str, report: Report) -> Response:
    """The report as a download."""
    headers = {"Content-Disposition": f'attachment; filename="{visit}.pdf"'}
    return Response(report.pdf, media_type="application/pdf", headers=headers)


def _wanted(here: Here, visit: str) -> Wanted:
    """The report's pages as pictures, as the visit and its holds stand."""
    state = load_visit(visit, store=here.services.desk.store, blobs=here.services.desk.blobs)
    holds = canonical_json([str(asdict(hold)) for hold in state.holds])
    key = f"{visit} {state.head} {holds} {here.zone().key}"
    request, tools = _request(here, visit), _tools(here)
    return Wanted(visit, key, lambda told: report_pictures(request, tools=tools, progress=told))


def _previews(here: Here) -> Previews:
    held = here.request.app.state
    if not hasattr(held, "report_previews"):
        held.report_previews = Previews()
    previews: Previews = held.report_previews
    return previews


def _request(here: Here, visit: str) -> ReportVisit:
    shelf = here.services.shelf
    return ReportVisit(visit, shelf.fleet().time_zone, shelf.cautions())


def _tools(here: Here) -> ReportTools:
    desk, tools = here.services.desk, here.services.tools
    return ReportTools(desk.store, desk.blobs, tools.pdf(), tools.pictures())


def _page(
    here: Here, visit: str, form: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    desk = here.services.desk
    state = load_visit(visit, store=desk.store, blobs=desk.blobs)
    return here.page(
        "report.html.j2",
        kind_of(error).status if error is not None else 200,
        state=state,
        verdict=visit_verdict(state, blobs=desk.blobs),
        roles=ROLES,
        typed=form,
        error=error,
        since=error.since if isinstance(error, HeadMoved) else (),
        entries=ENTRIES,
        step_pages=STEP_PAGES,
    )
