"""Motion triggers from logs that are sent, and other settings tried on what they counted."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from fastapi import APIRouter, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from asfound.errors import UsageError
from asfound.jobs.ask_triggers import Files, Source, ask_triggers, gather
from asfound.jobs.try_triggers import ask_try, first_try, grid_of, unpacked
from asfound.jobs.tune_triggers import tune_triggers
from asfound.web.bench_logs import Sent, chunks_of, from_files
from asfound.web.context import Asked
from asfound.web.view_triggers import TriggersAnswer, answer_of

router = APIRouter(prefix="/bench/triggers")
TEMPLATE = "bench-triggers.html.j2"


@router.get("")
def show(here: Asked) -> Response:
    """The form."""
    return here.page(TEMPLATE, typed={}, answer=None, error=None)


@router.post("")
async def tune(here: Asked, request: Request) -> Response:
    """What is recommended, and the grid to move thresholds on."""

    def solve(sent: Sent) -> TriggersAnswer:
        asked = ask_triggers(sent.fields)
        logs = _sources(sent.files.get("logs", ()))
        if not logs:
            raise UsageError("choose a log first: a CSV of times and accelerations")
        files = Files(
            logs, _sources(sent.files.get("tracks", ())), _sources(sent.files.get("labels", ()))
        )
        wanted, left_out = gather(asked, files)
        tuned = tune_triggers(wanted, sweeps=here.services.tools.sweeps())
        grid = grid_of(tuned)
        return answer_of(grid, first_try(grid, tuned.triggers), tuned, left_out)

    return await from_files(here, request, TEMPLATE, solve)


@router.post("/try")
async def attempt(here: Asked, request: Request) -> Response:
    """The same grid at other settings, for browsers without a script."""

    def solve(sent: Sent) -> TriggersAnswer:
        grid = unpacked(sent.fields.get("grid", ""))
        return answer_of(grid, ask_try(grid, sent.fields))

    return await from_files(here, request, TEMPLATE, solve)


def _sources(files: Iterable[UploadFile]) -> list[Source]:
    return [((file.filename or "log")[-80:], _again(file)) for file in files]


def _again(file: UploadFile) -> Callable[[], Iterable[bytes]]:
    def chunks() -> Iterable[bytes]:
        file.file.seek(0)
        return chunks_of(file)

    return chunks
