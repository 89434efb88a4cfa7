"""Lens and view: what a camera shows, drawn to scale."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from fastapi import APIRouter
from starlette.responses import Response

from asfound.calc.lens_view import CLASSES
from asfound.jobs.ask_lens import ask_lens
from asfound.jobs.plot_lens import plot_above, plot_side
from asfound.jobs.view_lens import Viewed, ViewLens, view_lens
from asfound.model.plot import Plot
from asfound.web.bench import reckon
from asfound.web.context import Asked

router = APIRouter()


@dataclass(frozen=True, slots=True)
class LensAnswer:
    """What was asked, what came out, and the drawings (``side`` None without a height)."""

    request: ViewLens
    viewed: Viewed
    side: Plot | None
    above: Plot


@router.get("/bench/lens")
def show(here: Asked) -> Response:
    """The form, and the sums when it was sent."""
    return reckon(here, "bench-lens.html.j2", _solve, classes=CLASSES, infinite=inf)


def _solve(fields: Mapping[str, str]) -> LensAnswer:
    request = ask_lens(fields)
    return LensAnswer(request, view_lens(request), plot_side(request), plot_above(request))
