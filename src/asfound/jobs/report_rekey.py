"""The re-key sheet on paper: which keys to press, page by page, with boxes to tick."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from asfound.jobs.report import Report
from asfound.jobs.report_settings import page_title
from asfound.jobs.report_texts import Row, field_of, value_text
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.rekey import KeyRun, RekeyField, RekeyPage, RekeySheet
from asfound.ports.pdf import PdfMaker
from asfound.version import VERSION

TEMPLATE = "rekey.typ"


@dataclass(frozen=True, slots=True)
class PrintRekey:
    """What the printed sheet is made from.

    ``made_at`` (aware) becomes the document's date; ``vehicle``, ``visit`` and ``fleet`` stand
    in its head and may be empty.
    """

    sheet: RekeySheet
    menu_map: MenuMap
    made_at: datetime
    vehicle: str = ""
    visit: str = ""
    fleet: str = ""


def print_rekey(request: PrintRekey, *, pdf: PdfMaker) -> Report:
    """The sheet as PDF/A; the same request gives the same bytes. Raises MissingPart."""
    made = pdf.compile(TEMPLATE, rekey_data(request), {}, request.made_at)
    return Report(made, hashlib.sha256(made).hexdigest())


def rekey_data(request: PrintRekey) -> Row:
    """The template's data (JSON-able)."""
    sheet, menu_map = request.sheet, request.menu_map
    running = 0
    pages: list[Row] = []
    for page in sheet.pages:
        pages.append(_page(page, menu_map, running, sheet))
        running += page.presses
    return {
        "fleet": request.fleet,
        "vehicle": request.vehicle,
        "visit": request.visit,
        "recorder": f"{menu_map.maker} {menu_map.model}",
        "firmware": sheet.firmware,
        "presses": sheet.presses,
        "time": _minutes(sheet.seconds),
        "fields": sum(len(page.fields) for page in sheet.pages),
        "pages": pages,
        "clock": _labels(sheet.volatile, menu_map),
        "unknown": _labels(sheet.unknown, menu_map),
        "added": _labels(sheet.added, menu_map),
        "removed": _labels(sheet.removed, menu_map),
        "renamed": [[_label(old, menu_map), _label(new, menu_map)] for old, new in sheet.renamed],
        "version": VERSION,
    }


def _page(page: RekeyPage, menu_map: MenuMap, before: int, sheet: RekeySheet) -> Row:
    running = before + sum(run.times for run in page.reach)
    fields: list[Row] = []
    for item in page.fields:
        running += item.presses
        fields.append(_field(item, menu_map, running))
    after = before + page.presses
    return {
        "number": page.number,
        "title": _title(page, menu_map),
        "reach": _runs(page.reach),
        "fields": fields,
        "save": _runs(page.save),
        "presses": page.presses,
        "running": after,
        # Every press counts alike here: the sheet states seconds for the whole only.
        "time": _minutes(sheet.seconds * after / sheet.presses) if sheet.presses else "0 min",
    }


def _title(page: RekeyPage, menu_map: MenuMap) -> str:
    """The page's title, with its group in a two-level menu."""
    groups = {item.id: item.group for item in menu_map.pages}
    group = groups.get(page.id)
    return f"{group}: {page.title}" if group else page.title


def _field(item: RekeyField, menu_map: MenuMap, running: int) -> Row:
    field = field_of(menu_map, item.id)
    secret = field is not None and isinstance(field.type, Secret)
    start = value_text(field, item.from_value) if item.from_value is not None else "not known"
    return {
        "label": item.label,
        "from": start,
        "to": value_text(field, item.to_value),
        "move": _runs(item.move),
        "change": _runs(item.change),
        "by_hand": item.by_hand,
        "note": item.note,
        "type": "" if secret else item.cap_text,
        "running": running,
    }


def _runs(runs: Sequence[KeyRun]) -> list[Row]:
    return [{"key": run.key, "n": run.times} for run in runs if run.times]


def _label(field_id: str, menu_map: MenuMap) -> str:
    field = field_of(menu_map, field_id)
    return f"{page_title(menu_map, field_id)} · {field.label}" if field else field_id


def _labels(ids: Sequence[str], menu_map: MenuMap) -> list[str]:
    return [_label(field_id, menu_map) for field_id in ids]


def _minutes(seconds: float) -> str:
    """Whole minutes, rounded up: a plan that is too short helps nobody."""
    return f"{max(1, -int(-seconds // 60))}\u00a0min" if seconds > 0 else "0\u00a0min"
