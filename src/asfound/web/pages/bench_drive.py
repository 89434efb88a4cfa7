"""A drive's life: its ratings against what is recorded on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import Response

from asfound.calc.drive_life import FOREVER_YEARS
from asfound.jobs.ask_drive import ask_drive_life
from asfound.jobs.ask_storage import SPREAD
from asfound.jobs.drive_life import DriveLife, Life, drive_life
from asfound.jobs.plot_drive_life import plot_drive_life
from asfound.model.plot import Plot
from asfound.web.bench import reckon
from asfound.web.context import Asked

router = APIRouter()


@dataclass(frozen=True, slots=True)
class LifeAnswer:
    """What was asked, the sums, and their plot."""

    request: DriveLife
    life: Life
    plot: Plot


@router.get("/bench/drive")
def show(here: Asked) -> Response:
    """The form, and the sums when it was sent."""

    def solve(fields: Mapping[str, str]) -> LifeAnswer:
        request = ask_drive_life(fields)
        return LifeAnswer(request, drive_life(request), plot_drive_life(request))

    return reckon(here, "bench-drive.html.j2", solve, spread=SPREAD, forever=FOREVER_YEARS)
