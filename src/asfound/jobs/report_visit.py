"""The report of a stored visit: load it, with the menu map it was opened with, and set it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from asfound.errors import IntegrityError, MapError, NotFound
from asfound.jobs.expect import expect_from_target
from asfound.jobs.report import MakeReport, Report, channels_of, make_report, report_pages
from asfound.jobs.report_rekey import PrintRekey, print_rekey
from asfound.jobs.report_texts import Row
from asfound.jobs.report_verdict import verdict_data
from asfound.jobs.visit_journal import load_visit
from asfound.model.caution import Caution
from asfound.model.finding import Expectation
from asfound.model.menu_map import MenuMap
from asfound.model.visit import VisitState
from asfound.ports.blobs import Blobs
from asfound.ports.documents import from_json
from asfound.ports.pdf import PdfMaker
from asfound.ports.pictures import Pictures
from asfound.ports.progress import Progress, silent
from asfound.ports.store import Store


@dataclass(frozen=True, slots=True)
class ReportVisit:
    """Which visit, the fleet's IANA time zone, and the cautions by id."""

    visit: str
    time_zone: str
    cautions: Mapping[str, Caution] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ReportTools:
    """Where a visit lies and what its documents are made with."""

    store: Store
    blobs: Blobs
    pdf: PdfMaker
    pictures: Pictures


def report_visit(request: ReportVisit, *, tools: ReportTools) -> Report:
    """The report of the visit as it stands: a draft while the visit is open.

    Raises NotFound (no such visit), IntegrityError (its journal or a document is not what it
    was), InputError (time zone), MissingPart (PDF compiler or font), StorageError.
    """
    made = _made(request, tools)
    return make_report(made, pdf=tools.pdf, blobs=tools.blobs, pictures=tools.pictures)


def report_pictures(
    request: ReportVisit, *, tools: ReportTools, progress: Progress = silent
) -> tuple[bytes, ...]:
    """The same report's pages as PNG pictures. Raises as ``report_visit``, and Interrupted
    through ``progress``."""
    made = _made(request, tools)
    return report_pages(
        made, pdf=tools.pdf, blobs=tools.blobs, pictures=tools.pictures, progress=progress
    )


def visit_verdict(state: VisitState, *, blobs: Blobs) -> Row:
    """What the report's first page says: {"tone", "headline", "points"}, as verdict_data.

    Raises IntegrityError (the stored menu map is missing or not what it was).
    """
    return verdict_data(state, channels_of(state, _expectation(state, _map_of(state, blobs))))


def rekey_visit(visit: str, *, tools: ReportTools) -> Report:
    """The visit's re-key sheet on paper. Raises NotFound when nothing was planned yet, and what
    ``report_visit`` raises."""
    state = load_visit(visit, store=tools.store, blobs=tools.blobs)
    if state.sheet is None:
        raise NotFound(f"visit {visit} has no re-key sheet yet; asfound visit rekey {visit}")
    number = f"{state.vehicle.number} · {state.vehicle.plate}".strip(" ·")
    request = PrintRekey(
        state.sheet, _map_of(state, tools.blobs), state.opened_at, number, state.id, state.fleet
    )
    return print_rekey(request, pdf=tools.pdf)


def _made(request: ReportVisit, tools: ReportTools) -> MakeReport:
    state = load_visit(request.visit, store=tools.store, blobs=tools.blobs)
    menu_map = _map_of(state, tools.blobs)
    return MakeReport(
        state, menu_map, request.time_zone, request.cautions, _expectation(state, menu_map)
    )


def _map_of(state: VisitState, blobs: Blobs) -> MenuMap:
    """The menu map as it was when the visit was opened."""
    try:
        data = blobs.get(state.map_blob)
    except NotFound:
        raise IntegrityError(
            f"visit {state.id}: its menu map is missing from the store; restore from a copy"
        ) from None
    return from_json(MenuMap, data, f"menu map of visit {state.id}")


def _expectation(state: VisitState, menu_map: MenuMap) -> Expectation | None:
    """What the recordings were held against; None where the plan does not say it."""
    if state.target is None:
        return None
    try:
        return expect_from_target(menu_map, state.target, state.vehicle.cameras)
    except MapError:
        return None
