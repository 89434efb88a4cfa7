"""The report of a real visit: real journal, real blobs, shipped map, procedure and cautions."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from asfound.errors import IntegrityError, NotFound
from asfound.jobs.report_visit import ReportTools, ReportVisit, rekey_visit, report_visit
from asfound.jobs.visit_act import AddNote, TickStep, note, tick
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.jobs.visit_work import VisitPlan, visit_plan
from asfound.model.fleet import Camera, Recorder, Standard, Vehicle
from asfound.model.kinds import ReadOnly
from asfound.model.reading import FieldReading, PhotoReading, Reading, State
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.pdf_typst import TypstPdf
from asfound.ports.backends.procedure_toml import load_procedure, shipped_procedure_paths
from asfound.ports.backends.store_sql import SqlStore

MENU_MAP = load_map(shipped_map_paths()["quillfen-octad"])
CAUTIONS = load_cautions()
PROCEDURE = load_procedure(shipped_procedure_paths()["firmware-and-reset"], CAUTIONS)
FIRMWARE = MENU_MAP.firmware[0]
VEHICLE = Vehicle(
    "217", "QB 04 XKM", "bus", "Depot North", "double deck",
    Recorder(MENU_MAP.id, "QO-8-004417", FIRMWARE, "behind the driver", 24),
    tuple(Camera(n, f"View {n}") for n in range(1, 9)),
)  # fmt: skip


class SlowClock:
    """A clock that moves on by a minute at each look."""

    def __init__(self) -> None:
        self.at = datetime(2026, 11, 24, 20, 58, tzinfo=UTC)

    def now(self) -> datetime:
        self.at += timedelta(minutes=1)
        return self.at

    def steady(self) -> float:
        return self.at.timestamp()


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    store = SqlStore(f"sqlite:///{tmp_path / 'asfound.db'}")
    yield Desk(store, FileBlobs(tmp_path / "blobs"), SlowClock())
    store.close()


@pytest.fixture
def tools(desk: Desk, scene: Any) -> ReportTools:
    return ReportTools(desk.store, desk.blobs, TypstPdf(), scene.pictures)


def a_reading(photo: str) -> Reading:
    def value(field: Any) -> str:
        return MENU_MAP.default(field, FIRMWARE) or (
            "shown" if isinstance(field.type, ReadOnly) else ""
        )

    fields = tuple(
        FieldReading(item.id, item.label, value(item), value(item), State.SURE, photo=photo)
        for item in MENU_MAP.fields_in(FIRMWARE)
    )
    photos = tuple(
        PhotoReading(f"IMG_{n:04d}.jpg", photo, page.id, 0.5, fields if n == 0 else ())
        for n, page in enumerate(MENU_MAP.pages)
    )
    return Reading(MENU_MAP.id, FIRMWARE, photos, fields, ())


@pytest.fixture
def visit(desk: Desk, scene: Any) -> str:
    opened = open_visit(
        OpenVisit(
            VEHICLE, "Brindlemere Haulage & Coaches", "UTC", PROCEDURE, MENU_MAP, "Ada Penhallow"
        ),
        store=desk.store, blobs=desk.blobs, clock=desk.clock,
    )  # fmt: skip
    for step in PROCEDURE.steps:
        if step.kind != "check":
            break
        tick(TickStep(opened.id, step.id, "Ada Penhallow"), desk=desk)
    photo = desk.blobs.put(scene.pictures.encode_jpeg(scene.pictures.decode(
        next(iter(scene.blobs.shelf.values())), "x").pixels))  # fmt: skip
    record_as_found(RecordReading(opened.id, MENU_MAP, a_reading(photo), "Ada"), desk=desk)
    note(AddNote(opened.id, "Ada Penhallow", "isolator stiff, greased"), desk=desk)
    return opened.id


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    texts = []
    for page in document:
        text = page.get_textpage()
        texts.append(text.get_text_range())
        text.close()
        page.close()
    document.close()
    return " ".join(" ".join(texts).split())


def test_a_journal_becomes_a_report(visit: str, tools: ReportTools) -> None:
    made = report_visit(ReportVisit(visit, "Europe/Lisbon", CAUTIONS), tools=tools)
    text = text_of(made.pdf)
    check = check_visit(visit, store=tools.store, blobs=tools.blobs)
    assert check.faults == ()
    for needle in (visit, check.head, "DRAFT", "isolator stiff, greased", "QO-8-004417",
                   PROCEDURE.title, "asfound visit check"):  # fmt: skip
        assert needle in text, needle
    for caution in {name for step in PROCEDURE.steps for name in step.cautions}:
        assert CAUTIONS[caution].title in text
    for item in MENU_MAP.fields_in(FIRMWARE):
        assert item.label in text
    again = report_visit(ReportVisit(visit, "Europe/Lisbon", CAUTIONS), tools=tools)
    assert again == made


def test_the_planned_sheet_is_printed(visit: str, desk: Desk, tools: ReportTools) -> None:
    with pytest.raises(NotFound, match="asfound visit rekey"):
        rekey_visit(visit, tools=tools)
    field = next(item for item in MENU_MAP.fields if item.means == "shock-vertical")
    standard = Standard(MENU_MAP.id, {}, {})
    plan = VisitPlan(visit, MENU_MAP, standard, VEHICLE, "Ada Penhallow")
    visit_plan(plan, desk=desk)
    text = text_of(rekey_visit(visit, tools=tools).pdf)
    assert f"Visit {visit}" in text and "217 · QB 04 XKM" in text
    report = report_visit(ReportVisit(visit, "UTC", CAUTIONS), tools=tools)
    assert field.label in text_of(report.pdf)


def test_a_lost_menu_map_is_a_fault_and_an_unknown_visit_is_not_found(
    visit: str, tools: ReportTools
) -> None:
    state = load_visit(visit, store=tools.store, blobs=tools.blobs)
    tools.blobs.path(state.map_blob).unlink()
    with pytest.raises(IntegrityError, match="menu map is missing"):
        report_visit(ReportVisit(visit, "UTC"), tools=tools)
    with pytest.raises(NotFound, match="asfound visit list"):
        report_visit(ReportVisit("999-1", "UTC"), tools=tools)
