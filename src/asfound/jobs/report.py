"""The visit's report: everything the operator is told, prepared as data, then set as PDF/A."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field

from asfound.calc.qr import qr_svg
from asfound.jobs.footage_strip import StripLook
from asfound.jobs.hidden_pixels import secret_places
from asfound.jobs.identity import serial_text
from asfound.jobs.report_coverage import coverage_data
from asfound.jobs.report_pictures import Album
from asfound.jobs.report_proof import proof_data
from asfound.jobs.report_record import (
    cautions_rows,
    clock_rows,
    document_time,
    faults_rows,
    firmware_rows,
    holds_rows,
    notes_rows,
    overrides_rows,
    photos_rows,
    steps_rows,
)
from asfound.jobs.report_settings import (
    Ledger,
    firmware_changes,
    ledgers,
    open_doubts,
    pages_of,
    rounds_rows,
    settled_rows,
)
from asfound.jobs.report_signatures import signature_rows
from asfound.jobs.report_sums import sums_data
from asfound.jobs.report_texts import Row, offset_text, utc_text, when, zone
from asfound.jobs.report_verdict import verdict_data
from asfound.model.caution import Caution
from asfound.model.difference import OPEN
from asfound.model.finding import Expectation
from asfound.model.menu_map import MenuMap
from asfound.model.visit import VisitState
from asfound.ports.blobs import Blobs
from asfound.ports.pdf import PdfMaker
from asfound.ports.pictures import Pictures
from asfound.ports.progress import Progress, silent
from asfound.version import VERSION

TEMPLATE = "report.typ"
QR_FILE = "visit.svg"


@dataclass(frozen=True, slots=True)
class MakeReport:
    """What the report is made from.

    ``time_zone`` is the fleet's IANA name. ``cautions`` maps a caution's id to it.
    ``expectation`` is what the proof was held against; None when nothing was stated.
    """

    state: VisitState
    menu_map: MenuMap
    time_zone: str
    cautions: Mapping[str, Caution] = field(default_factory=dict)
    expectation: Expectation | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """The finished report and the SHA-256 of its bytes."""

    pdf: bytes
    sha256: str


def make_report(request: MakeReport, *, pdf: PdfMaker, blobs: Blobs, pictures: Pictures) -> Report:
    """The report as PDF/A; the same request gives the same bytes.

    A picture that is missing or damaged is said to be so in its place. Raises InputError
    (unknown time zone), MissingPart (no PDF compiler or font), StorageError.
    """
    data, files = report_data(request, blobs=blobs, pictures=pictures)
    made = pdf.compile(TEMPLATE, data, files, document_time(request.state))
    return Report(made, hashlib.sha256(made).hexdigest())


def report_pages(
    request: MakeReport,
    *,
    pdf: PdfMaker,
    blobs: Blobs,
    pictures: Pictures,
    progress: Progress = silent,
) -> tuple[bytes, ...]:
    """The report's pages as PNG pictures, to look at on a screen. Raises as ``make_report``, and
    Interrupted through ``progress``, between what is in them and setting them."""
    progress(0, 2, "")
    data, files = report_data(request, blobs=blobs, pictures=pictures)
    progress(1, 2, "")
    made = pdf.page_pictures(TEMPLATE, data, files, document_time(request.state))
    progress(2, 2, "")
    return made


def report_data(
    request: MakeReport, *, blobs: Blobs, pictures: Pictures
) -> tuple[Row, dict[str, bytes]]:
    """The template's data (JSON-able) and its pictures by name."""
    state, menu_map = request.state, request.menu_map
    local = zone(request.time_zone)
    readings = (state.as_found, *(item.reading for item in state.rounds))
    album = Album(blobs, pictures, secret_places(readings))
    names = {camera.channel: camera.name for camera in state.vehicle.cameras}
    if request.expectation:
        stated = {item.channel: item.name for item in request.expectation.channels if item.name}
        names = stated | names
    channels = channels_of(state, request.expectation)
    rows = ledgers(state, menu_map)
    data: Row = {
        "title": _title(request),
        "verdict": verdict_data(state, channels),
        "found": _found(request, album),
        "changed": pages_of(row for row in rows if row.changed),
        "changed_count": sum(row.changed for row in rows),
        "firmware": firmware_changes(state, menu_map),
        "open": _open(rows),
        "rounds": rounds_rows(state, menu_map, local),
        "settings": pages_of(rows),
        "sums": sums_data(state, menu_map),
        "proof": proof_data(
            state.proof, request.expectation, channels, StripLook(local, names, album)
        ),
        "coverage": coverage_data(state, names, local),
        "silent": [
            [str(camera.channel), camera.name]
            for camera in state.vehicle.cameras
            if camera.channel not in channels
        ],
        "holds": holds_rows(state, local),
        "overrides": overrides_rows(state, local),
        "steps": steps_rows(state, local),
        "notes": notes_rows(state, local),
        "faults": faults_rows(state, local),
        "chosen": firmware_rows(state, local),
        "clock": clock_rows(state),
        "cautions": cautions_rows(state.procedure, request.cautions),
        "signatures": signature_rows(state, album, local),
        "photos": photos_rows(state, menu_map),
        "journal": {"head": state.head, "entries": state.entries, "utc": _utc(state)},
        "version": VERSION,
    }
    return data, {**album.files, QR_FILE: qr_svg(state.id)}


def _title(request: MakeReport) -> Row:
    state, local = request.state, zone(request.time_zone)
    vehicle, recorder = state.vehicle, state.vehicle.recorder
    drive = vehicle.drive
    return {
        "visit": state.id,
        "fleet": state.fleet,
        "number": vehicle.number,
        "plate": vehicle.plate,
        "kind": vehicle.kind,
        "depot": vehicle.depot,
        "vehicle_class": vehicle.vehicle_class,
        "recorder": f"{request.menu_map.maker} {request.menu_map.model}",
        "serial": serial_text(state, request.menu_map),
        "place": recorder.place,
        "cameras": [[str(camera.channel), camera.name] for camera in vehicle.cameras],
        "drive": f"{drive.serial} ({drive.kind}, {drive.capacity_bytes / 1e9:.0f}\u00a0GB)"
        if drive
        else "",
        "firmware_found": state.firmware_found,
        "firmware_left": state.firmware_left,
        "procedure": state.procedure.title,
        "opened_by": state.opened_by,
        "opened_at": when(state.opened_at, local),
        "closed": state.closed,
        "closed_by": state.closed_by or "",
        "closed_at": when(state.closed_at, local),
        "zone": f"{request.time_zone} ({offset_text(state.opened_at.astimezone(local))})",
        "qr": QR_FILE,
    }


def _found(request: MakeReport, album: Album) -> Row:
    state, menu_map = request.state, request.menu_map
    local = zone(request.time_zone)
    reading = state.as_found
    settled = settled_rows(state, menu_map, album, local)
    if reading is None:
        return {"read": False, "settled": settled}
    titles = {page.id: page.title for page in menu_map.pages}
    return {
        "read": True,
        "photos": len(reading.photos),
        "fields": len(reading.fields),
        "sure": len(reading.sure_values()),
        "doubts": len(reading.doubts()),
        "missing": [titles.get(page, page) for page in reading.missing_pages],
        "unsettled": open_doubts(reading, state.settled, menu_map),
        "settled": settled,
    }


def channels_of(state: VisitState, expectation: Expectation | None) -> tuple[int, ...]:
    """Cameras that should record: the expected ones, else all that are fitted."""
    if expectation and expectation.channels:
        return tuple(sorted(item.channel for item in expectation.channels))
    return tuple(sorted(camera.channel for camera in state.vehicle.cameras))


def _open(rows: tuple[Ledger, ...]) -> list[Row]:
    return [row.row() for row in rows if row.verdict in OPEN]


def _utc(state: VisitState) -> Row:
    return {
        "opened": utc_text(state.opened_at),
        "closed": utc_text(state.closed_at) if state.closed_at else "",
        "last": utc_text(document_time(state)),
    }
