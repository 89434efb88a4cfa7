"""Rollouts: new firmware over the fleet in waves, and what the stop rule says."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from asfound.web.context import Asked
from asfound.web.stick_words import DECISIONS, OUTCOMES
from asfound.web.view_rollout import rollout_lines, rollout_view

router = APIRouter(prefix="/rollout")


@router.get("")
def every(here: Asked) -> Response:
    """Every rollout, and where it stands."""
    return here.page("rollouts.html.j2", lines=rollout_lines(here.services), decisions=DECISIONS)


@router.get("/{name}")
def one(here: Asked, name: str) -> Response:
    """One rollout: decision, rule, waves, vehicles."""
    return here.page(
        "rollout.html.j2",
        view=rollout_view(name, here.services),
        decisions=DECISIONS,
        outcomes=OUTCOMES,
    )
