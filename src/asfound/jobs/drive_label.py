"""A label for a drive: a code to scan, serial number, the register's id and the fleet, as SVG or
PDF."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from asfound.calc.drive_label import label_svg
from asfound.calc.drive_names import label_text
from asfound.calc.qr import qr_svg
from asfound.model.drive_register import DriveState
from asfound.ports.pdf import PdfMaker
from asfound.units import bytes_text

TEMPLATE = "drive_label.typ"
KINDS = {"hdd": "hard disk", "ssd": "solid state", "card": "memory card", "other": "drive"}


@dataclass(frozen=True, slots=True)
class LabelDrive:
    """The label of ``drive`` for ``fleet`` (its name)."""

    drive: DriveState
    fleet: str


def label_lines(request: LabelDrive) -> tuple[str, ...]:
    """What stands beside the code: id, serial number, kind and size, fleet."""
    state = request.drive
    size = f", {bytes_text(state.capacity_bytes)}" if state.capacity_bytes else ""
    return (state.id, state.spelled, f"{KINDS.get(state.kind, 'drive')}{size}", request.fleet)


def drive_label_svg(request: LabelDrive) -> str:
    """The label as SVG; the same drive gives the same text."""
    return label_svg(_code(request), label_lines(request))


def drive_label_pdf(request: LabelDrive, at: datetime, *, pdf: PdfMaker) -> bytes:
    """The label as a PDF of its size, dated ``at`` (aware). Raises MissingPart, InputError,
    StorageError."""
    data = {"lines": list(label_lines(request))}
    return pdf.compile(TEMPLATE, data, {"code.svg": qr_svg(_code(request))}, at)


def _code(request: LabelDrive) -> str:
    return label_text(request.drive.serial, request.drive.spelled, request.fleet)
