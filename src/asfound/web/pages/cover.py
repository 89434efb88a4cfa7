"""Counting the hours on disk, begun from the proof's page."""

from __future__ import annotations

from collections.abc import Mapping

from anyio.to_thread import run_sync
from fastapi import APIRouter, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.jobs.visit_journal import load_visit
from asfound.web.context import FORM_FIELDS, Asked, Here, files_allowed, remember
from asfound.web.covering import CoverAct, hours_of, span_of, start_covering
from asfound.web.pages.proof import proof_page
from asfound.web.problems import Problem
from asfound.web.session import NAME_COOKIE

router = APIRouter(prefix="/visits/{visit}/proof/cover")


@router.post("")
async def start(here: Asked, request: Request, visit: str) -> Response:
    """Begins to count what is in the folder that was chosen."""
    form = await request.form(max_files=files_allowed(request), max_fields=FORM_FIELDS)
    try:
        sent = form.get("hours")
        file = ("", b"")
        if isinstance(sent, UploadFile) and sent.filename:
            file = (sent.filename, await sent.read())
        typed = {name: value for name, value in form.items() if isinstance(value, str)}
    finally:
        await form.close()
    return await run_sync(_started, here, visit, typed, file)


def _started(here: Here, visit: str, form: Mapping[str, str], file: tuple[str, bytes]) -> Response:
    services = here.services
    by = form.get("by", "").strip() or here.name
    state = load_visit(visit, store=services.desk.store, blobs=services.desk.blobs)
    try:
        expected, name = hours_of(form, file, state, services)
        days, until = span_of(form, here.zone())
        act = CoverAct(
            visit, form.get("head", ""), by, form.get("folder", ""), expected, name, days,
            until=until,
        )  # fmt: skip
        start_covering(act, here, here.server.tasks)
    except (AsfoundError, Problem) as error:
        return proof_page(here, visit, {**form, "part": "cover"}, error)
    answer = here.go(f"/visits/{visit}/proof")
    remember(answer, NAME_COOKIE, by)
    return answer
