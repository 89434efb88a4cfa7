"""Supply leads: what arrives at the recorder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import Response

from asfound.jobs.ask_leads import ask_leads
from asfound.jobs.plot_leads import plot_leads
from asfound.jobs.size_leads import Leads, SizeLeads, size_leads
from asfound.model.plot import Plot
from asfound.web.bench import reckon
from asfound.web.context import Asked

router = APIRouter()
CAUTIONS = ("battery", "isolator", "high-voltage")


@dataclass(frozen=True, slots=True)
class LeadsAnswer:
    """What was asked, what came out, and how it looks."""

    request: SizeLeads
    leads: Leads
    plot: Plot


@router.get("/bench/leads")
def show(here: Asked) -> Response:
    """The form, and the sums when it was sent."""
    known = here.services.shelf.cautions()
    cautions = [known[name] for name in CAUTIONS if name in known]
    return reckon(here, "bench-leads.html.j2", _solve, cautions=cautions)


def _solve(fields: Mapping[str, str]) -> LeadsAnswer:
    request = ask_leads(fields)
    return LeadsAnswer(request, size_leads(request), plot_leads(request))
