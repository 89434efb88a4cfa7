"""Bundles: closed visits that leave as one, and those of others that are taken in."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.jobs.bundle_export import ExportBundle
from asfound.units import bytes_text
from asfound.web.bundling import NOTES, BundleDesk, start_export, start_import, stop_bundle
from asfound.web.context import Asked, Form, Here
from asfound.web.problems import Problem, kind_of
from asfound.web.view_bundles import aside_rows
from asfound.web.wording import ENTRIES

router = APIRouter(prefix="/bundles")


@router.get("")
def show(here: Asked, visit: str = "") -> Response:
    """What was begun, the forms, whom this home believes; ``visit``: the one to pack."""
    return _page(here, {"visit": visit}, None)


@router.post("/export")
def export(here: Asked, form: Form) -> Response:
    """Begins to pack closed visits, or this home's notes."""
    notes, visits = form.get("what") == NOTES, tuple(form.get("visit", "").split())
    wanted = ExportBundle(() if notes else visits, notes=notes)
    try:
        start_export(wanted, form.get("place", ""), form.get("name", ""), here.visitor, _desk(here))
    except (AsfoundError, Problem) as error:
        return _page(here, form, error)
    return here.go("/bundles")


@router.post("/import")
def take(here: Asked, form: Form) -> Response:
    """Begins to take one in."""
    try:
        start_import(form.get("folder", ""), here.visitor, _desk(here))
    except (AsfoundError, Problem) as error:
        return _page(here, form, error)
    return here.go("/bundles")


@router.post("/stop")
def stop(here: Asked, form: Form) -> Response:
    """Asks for the end of it."""
    stop_bundle(form.get("task", ""), here.visitor, here.server.tasks)
    return here.go("/bundles")


def _desk(here: Here) -> BundleDesk:
    server = here.server
    return BundleDesk(here.services, server.tasks, server.bundles, server.hub)


def _page(here: Here, typed: Mapping[str, str], error: AsfoundError | Problem | None) -> Response:
    tools = here.services.tools.bundles()
    return here.page(
        "bundles.html.j2",
        kind_of(error).status if error is not None else 200,
        rows=here.server.bundles.all(here.server.tasks),
        places=here.services.bags.places(),
        believed=sorted((key.hex(), whose) for key, whose in tools.believed.items()),
        own=tools.own,
        aside=aside_rows(tools.merging),
        entries=ENTRIES,
        typed=typed,
        error=error,
        size=bytes_text,
    )
