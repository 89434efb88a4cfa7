"""A visit's proof: what the recordings show, and, on the laptop, the way to have them looked at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, BinaryIO
from urllib.parse import urlencode

from anyio.to_thread import run_sync
from fastapi import APIRouter, Query, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from asfound.calc.crop import shrink
from asfound.errors import AsfoundError, PictureError, UsageError
from asfound.jobs.report_texts import codec_text
from asfound.jobs.take_recordings import sent_recordings
from asfound.jobs.take_upload import Announce, offset_of, take_file
from asfound.jobs.visit_journal import load_visit
from asfound.web.context import FORM_FIELDS, Asked, Form, Here, files_allowed, remember
from asfound.web.covering import WEEK
from asfound.web.figures import Figures
from asfound.web.heads import HeadMoved
from asfound.web.problems import Problem, kind_of
from asfound.web.proof_ask import LIMIT_S, clock_of
from asfound.web.proof_words import COVERAGE, DAYS, FINDINGS, SENTENCES
from asfound.web.proving import (
    COUNT,
    KIND,
    SENT,
    ProveAct,
    forget_sent,
    shut_because,
    start_proving,
    stop_proving,
)
from asfound.web.session import NAME_COOKIE
from asfound.web.step_pages import STEP_PAGES
from asfound.web.tasks import Task
from asfound.web.view_proof import Shown, Telling, coverage_view, proof_picture, proof_view
from asfound.web.wording import ENTRIES

router = APIRouter(prefix="/visits/{visit}/proof")

SMALL_PX = 320
"""Longest side of a picture in a list: 160 CSS pixels on a screen of two a pixel."""

JPEG = b"\xff\xd8\xff"
"""How a JPEG file begins (ITU-T T.81, annex B: the marker SOI, then another one)."""

Number = Annotated[int, Query(ge=1, le=1_000_000)]


@router.get("")
def show(
    here: Asked, visit: str, page: Number = 1, findings: Number = 1, doubts: Number = 1
) -> Response:
    """The proof as the visit has it, and what is under way."""
    return _page(here, visit, Shown(page, findings, doubts), {}, None)


@router.post("/start")
def start(here: Asked, visit: str, form: Form) -> Response:
    """Begins to look at the recordings in the folder that was chosen."""
    by = form.get("by", "").strip() or here.name
    try:
        clock = clock_of(form, here.services.shelf.fleet().time_zone)
        folder, reference = form.get("folder", ""), form.get("reference", "")
        act = ProveAct(visit, form.get("head", ""), by, folder, clock, reference)
        start_proving(act, here, here.server.tasks)
    except (AsfoundError, Problem) as error:
        return _page(here, visit, Shown(), form, error)
    answer = here.go(f"/visits/{visit}/proof")
    remember(answer, NAME_COOKIE, by)
    return answer


@router.post("/name")
def name(here: Asked, visit: str, form: Form) -> Response:
    """Keeps who sends recordings."""
    answer = here.go(f"/visits/{visit}/proof")
    remember(answer, NAME_COOKIE, " ".join(form.get("by", "").split()))
    return answer


@router.post("/send")
async def send(here: Asked, request: Request, visit: str) -> Response:
    """Takes recordings from a plain form, for browsers without a script."""
    form = await request.form(max_files=files_allowed(request), max_fields=FORM_FIELDS)
    files = [
        (item.filename, item.file)
        for item in form.getlist("recordings")
        if isinstance(item, UploadFile) and item.filename
    ]
    try:
        return await run_sync(_taken, here, visit, files)
    finally:
        await form.close()


@router.post("/forget")
def forget(here: Asked, visit: str, form: Form) -> Response:
    """Deletes the recordings that were sent, unless they are being looked at."""
    try:
        forget_sent(visit, here.services, here.server.tasks)
    except AsfoundError as error:
        return _page(here, visit, Shown(), form, error)
    return here.go(f"/visits/{visit}/proof")


@router.post("/stop")
def stop(here: Asked, visit: str, form: Form) -> Response:
    """Asks for the end of looking; what was looked at is remembered."""
    try:
        stop_proving(visit, form.get("task", ""), here.server.tasks)
    except AsfoundError as error:
        return _page(here, visit, Shown(), form, error)
    return here.go(f"/visits/{visit}/proof")


@router.get("/pictures/{name}")
def picture(here: Asked, visit: str, name: str, small: bool = False) -> Response:
    """A picture of a finding or a recording, as it is kept or, ``small``, for a list."""
    data = proof_picture(visit, name, here.services)
    if not data.startswith(JPEG):
        raise PictureError(f"picture {name[:12]}… is none; look at the recordings again")
    if small:
        pictures = here.services.tools.pictures()
        pixels = pictures.decode(data, f"picture {name[:12]}…").pixels
        data = pictures.encode_jpeg(shrink(pixels, SMALL_PX), 80)
    return Response(data, media_type="image/jpeg")


def _taken(here: Here, visit: str, files: Sequence[tuple[str, BinaryIO]]) -> Response:
    services = here.services
    refused = [] if files else ["no recordings were chosen; choose some and send again"]
    for file, stream in files:
        wanted = Announce(visit, False, file, 0, "", here.name, recording=True)
        try:
            take_file(wanted, stream, desk=services.desk, uploads=services.uploads)
        except AsfoundError as error:
            refused.append(str(error))
    if refused:
        told = UsageError("; ".join(dict.fromkeys(refused)))
        return _page(here, visit, Shown(), {}, told)
    return here.go(f"/visits/{visit}/proof")


def proof_page(
    here: Here, visit: str, typed: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    """The page's first part after something was sent that was not taken."""
    return _page(here, visit, Shown(), typed, error)


def _page(
    here: Here,
    visit: str,
    shown: Shown,
    typed: Mapping[str, str],
    error: AsfoundError | Problem | None,
) -> Response:
    services = here.services
    state = load_visit(visit, store=services.desk.store, blobs=services.desk.blobs)
    view = proof_view(state, shown, services, Telling(here._, here.zone()))
    address = f"/visits/{visit}/proof"
    names = view.pictures if view is not None else frozenset()
    return here.page(
        "proof.html.j2",
        kind_of(error).status if error is not None else 200,
        step_pages=STEP_PAGES,
        state=state,
        view=view,
        coverage=coverage_view(state),
        task=_task(here, visit, KIND),
        count=_task(here, visit, COUNT),
        week=WEEK,
        day_words=DAYS,
        zone=here.zone().key,
        limit=LIMIT_S,
        promised=_promised(here),
        shut=shut_because(state),
        sent=sent_recordings(visit, services.uploads),
        offset=offset_of,
        sent_key=SENT,
        places=services.folders.places() if here.visitor.local else (),
        typed=typed,
        error=error,
        since=error.since if isinstance(error, HeadMoved) else (),
        entries=ENTRIES,
        figures=Figures(here.language),
        codec=codec_text,
        names={camera.channel: camera.name for camera in state.vehicle.cameras},
        finding_words=FINDINGS,
        sentences=SENTENCES,
        coverage_words=COVERAGE,
        small={name: f"{address}/pictures/{name}?small=1" for name in names},
        large={name: f"{address}/pictures/{name}" for name in names},
        turn=lambda **to: f"{address}?{urlencode(_turned(shown, to))}",
    )


def _turned(shown: Shown, to: Mapping[str, int]) -> dict[str, int]:
    """Pages of the three lists, one of them turned; first pages are left out."""
    at = {"page": shown.recordings, "findings": shown.findings, "doubts": shown.doubts, **to}
    return {name: number for name, number in at.items() if number != 1}


def _promised(here: Here) -> int | None:
    try:
        return here.services.shelf.fleet().minimum_days
    except AsfoundError:
        return None


def _task(here: Here, visit: str, kind: str) -> Task | None:
    """The last look at the visit's recordings, or count, unless the visit has what came out."""
    of_kind = [item for item in here.server.tasks.of(visit) if item.kind == kind]
    return of_kind[-1] if of_kind and of_kind[-1].state != "done" else None
