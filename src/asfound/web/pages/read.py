"""Photographs of a visit: take or choose them, see what each shows, and what is missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, BinaryIO

from anyio.to_thread import run_sync
from fastapi import APIRouter, Query, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from asfound.errors import AsfoundError, UsageError
from asfound.jobs.take_upload import Announce, take_file, wait_again
from asfound.web.context import FORM_FIELDS, Asked, Form, Here, files_allowed, remember
from asfound.web.problems import kind_of
from asfound.web.reading import KIND
from asfound.web.session import NAME_COOKIE
from asfound.web.step_pages import N_, STEP_PAGES
from asfound.web.view_photo import crop_jpeg, photo_jpeg, photo_view
from asfound.web.view_read import read_view

router = APIRouter(prefix="/visits/{visit}")

JPEG = "image/jpeg"


@router.get("/read")
def show(here: Asked, visit: str, moment: Annotated[str, Query(max_length=10)] = "") -> Response:
    """The photographs as they stand; ``moment`` is "found", "left" or "" for the present one."""
    return _page(here, visit, _left(moment), None)


@router.post("/read")
async def send(here: Asked, request: Request, visit: str) -> Response:
    """Takes photographs from a plain form, for browsers without a script."""
    form = await request.form(max_files=files_allowed(request), max_fields=FORM_FIELDS)
    files = [
        (item.filename or "", item.file)
        for item in form.getlist("photos")
        if isinstance(item, UploadFile) and item.filename
    ]
    typed = {name: value for name, value in form.items() if isinstance(value, str)}
    try:
        return await run_sync(_taken, here, visit, typed, files)
    finally:
        await form.close()


@router.post("/read/name")
def name(here: Asked, visit: str, form: Form) -> Response:
    """Keeps who takes the photographs."""
    answer = here.go(f"/visits/{visit}/read?moment={_moment(form)}")
    remember(answer, NAME_COOKIE, " ".join(form.get("by", "").split()))
    return answer


@router.post("/read/again")
def again(here: Asked, visit: str, form: Form) -> Response:
    """Has what could not be read, or still waits, read now."""
    wait_again(visit, desk=here.services.desk, uploads=here.services.uploads)
    here.server.reader.kick(visit)
    return here.go(f"/visits/{visit}/read?moment={_moment(form)}")


@router.get("/photos/{photo}")
def one(here: Asked, visit: str, photo: str) -> Response:
    """One photograph with its values marked."""
    return here.page("photo.html.j2", view=photo_view(visit, photo, here.services))


@router.get("/pictures/{photo}")
def picture(here: Asked, visit: str, photo: str) -> Response:
    """The picture itself, passwords painted over."""
    return Response(photo_jpeg(visit, photo, here.services), media_type=JPEG)


@router.get("/pictures/{photo}/{field}")
def crop(here: Asked, visit: str, photo: str, field: str) -> Response:
    """One value cut out of it; never a secret's."""
    return Response(crop_jpeg(visit, photo, field, here.services), media_type=JPEG)


def _taken(
    here: Here, visit: str, typed: Mapping[str, str], files: Sequence[tuple[str, BinaryIO]]
) -> Response:
    services, by = here.services, typed.get("by", "").strip() or here.name
    left = _left(_moment(typed))
    refused = [] if files else [N_("no photographs were chosen; choose some and send again")]
    for file, stream in files:
        wanted = Announce(visit, bool(left), file, 0, "", by)
        try:
            take_file(wanted, stream, desk=services.desk, uploads=services.uploads)
        except AsfoundError as error:
            refused.append(str(error))
    here.server.reader.kick(visit)
    if refused:
        return _page(here, visit, left, UsageError("; ".join(dict.fromkeys(refused))))
    answer = here.go(f"/visits/{visit}/read?moment={_moment(typed)}")
    remember(answer, NAME_COOKIE, by)
    return answer


def _page(here: Here, visit: str, left: bool | None, error: AsfoundError | None) -> Response:
    running = [
        task
        for task in here.server.tasks.of(visit)
        if task.kind == KIND and task.state == "running"
    ]
    ended = [task for task in here.server.tasks.of(visit) if task.kind == KIND]
    return here.page(
        "read.html.j2",
        kind_of(error).status if error is not None else 200,
        step_pages=STEP_PAGES,
        view=read_view(visit, left, here.services),
        error=error,
        typed={},
        running=running[-1] if running else None,
        failed=ended[-1] if ended and ended[-1].state == "failed" else None,
    )


def _left(moment: str) -> bool | None:
    return {"found": False, "left": True}.get(moment)


def _moment(form: Mapping[str, str]) -> str:
    return "left" if form.get("moment") == "left" else "found"
