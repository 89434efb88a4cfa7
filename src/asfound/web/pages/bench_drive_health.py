"""A drive's health, from reports that are sent; nothing of them is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from anyio.to_thread import run_sync
from fastapi import APIRouter, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from asfound.calc.smart_counts import used_percent
from asfound.calc.smart_json import MOST_BYTES, read_smart
from asfound.errors import AsfoundError, UsageError
from asfound.jobs.drive_health import NO_PROOF, Health, drive_health
from asfound.jobs.drive_health_common import heat_limit, highest_celsius
from asfound.model.smart import SmartReport
from asfound.sources import Limit
from asfound.web.context import FORM_FIELDS, Asked, Here, files_allowed
from asfound.web.problems import Problem, kind_of

router = APIRouter(prefix="/bench/drive/health")
TEMPLATE = "bench-drive-health.html.j2"
REPORT = "smartctl --json -x /dev/sdb > drive.json"
TEST = "asfound drive test /media/stick"
"""Commands that the page shows."""


@dataclass(frozen=True, slots=True)
class Judged:
    """A file that was sent: the drive in it and the verdict, or what is wrong with the file."""

    file: str
    report: SmartReport | None = None
    health: Health | None = None
    heat: Limit | None = None
    highest: int | None = None
    used: int | None = None
    fault: AsfoundError | None = None


@router.get("")
def show(here: Asked) -> Response:
    """The form."""
    return _page(here, ())


@router.post("")
async def judge(here: Asked, request: Request) -> Response:
    """Judges every drive whose report was sent."""
    form = await request.form(max_files=files_allowed(request), max_fields=FORM_FIELDS)
    try:
        sent = [
            (item.filename, await item.read(MOST_BYTES + 1))
            for item in form.getlist("reports")
            if isinstance(item, UploadFile) and item.filename
        ]
    finally:
        await form.close()
    return await run_sync(_judged, here, sent)


def _judged(here: Here, sent: Sequence[tuple[str, bytes]]) -> Response:
    if not sent:
        return _page(here, (), UsageError("choose a report first: a file that smartctl wrote"))
    now = here.now()
    return _page(here, [_one(name, data, now) for name, data in sent])


def _one(name: str, data: bytes, now: datetime) -> Judged:
    try:
        report = read_smart(data)
    except AsfoundError as fault:
        return Judged(name, fault=fault)
    health = drive_health(report, now)
    return Judged(
        name,
        report,
        health,
        heat_limit(report),
        highest_celsius(report),
        used_percent(report),
    )


def _page(
    here: Here, drives: Sequence[Judged], error: AsfoundError | Problem | None = None
) -> Response:
    status = 200
    if error is not None:
        status = kind_of(error).status
    elif drives and all(one.fault is not None for one in drives):
        status = 422
    return here.page(
        TEMPLATE,
        status,
        typed={},
        error=error,
        drives=drives,
        no_proof=NO_PROOF,
        report_command=REPORT,
        test_command=TEST,
    )
