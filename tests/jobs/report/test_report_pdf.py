"""The finished report, read by independent libraries: pypdf, PDFium, OpenCV's QR detector."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import cv2
import numpy as np
import pypdf
import pypdfium2
import pytest
import typst
from tests.pdf_traits import check_traits

from asfound.jobs.report import MakeReport, Report, make_report
from asfound.model.burned_clock import BurnedClock, ClockState
from asfound.model.clock import ClockOffset
from asfound.model.difference import Verdict
from asfound.model.fault_found import FaultFound
from asfound.model.fleet import Camera
from asfound.model.kinds import ReadOnly
from asfound.model.menu_map import Field, MenuMap, Page
from asfound.model.reading import FieldReading, State
from asfound.model.visit import StepDone, VisitState
from asfound.ports.backends.pdf_typst import TypstPdf


def made(scene: Any, **changes: object) -> Report:
    part = scene.but(**changes) if changes else scene
    return make_report(part.request, pdf=TypstPdf(), blobs=part.blobs, pictures=part.pictures)


@pytest.fixture(scope="module")
def report(scene: Any) -> Report:
    return made(scene)


def pages_of(pdf: bytes) -> list[str]:
    """Each page's text as PDFium reads it, white space made single."""
    document = pypdfium2.PdfDocument(pdf)
    texts = []
    for page in document:
        text = page.get_textpage()
        texts.append(" ".join(text.get_text_range().split()))
        text.close()
        page.close()
    document.close()
    return texts


def text_of(pdf: bytes) -> str:
    return " ".join(pages_of(pdf))


def test_what_came_of_burned_in_clocks_is_in_the_report(scene: Any, report: Report) -> None:
    proof = scene.state.proof
    clock = BurnedClock(
        ClockState.RUNS, "2026-11-24 19:02:09", (10, 8, 200, 24), 68_529.5, 0.5,
        (date(2026, 11, 24),), 8, 8, 1.0, offset_s=4.5,
        against="the file's start, local time of Europe/Lisbon", notes=("a *note*",),
    )  # fmt: skip
    first = replace(proof.recordings[0], clock=clock)
    clocked = replace(proof, recordings=(first, *proof.recordings[1:]))
    told = text_of(made(scene, proof=clocked).pdf)
    assert "Burned-in clocks" in told and "Burned-in clocks" not in text_of(report.pdf)
    assert "runs, 2026-11-24 19:02:09 at the start (± 0.5 s); 0:04 fast against" in told
    assert "a *note*" in told


def test_both_readers_find_what_matters(scene: Any, report: Report) -> None:
    state: VisitState = scene.state
    by_pdfium = text_of(report.pdf)
    reader = pypdf.PdfReader(io.BytesIO(report.pdf))
    by_pypdf = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    first = state.rounds[0].difference
    assert first is not None
    wrong = [item for item in first.fields if item.verdict in (Verdict.WRONG, Verdict.MISSED)]
    assert len(wrong) == 3
    needles = [
        state.id, state.head, "87", "217", "QB 04 XKM", "QO-8-004417", "3.4.1", "4.0.2",
        "Brindlemere Haulage & Coaches", "Ada Penhallow", "Not everything is as agreed.",
        state.overrides[0].reason, "1.8 g", "1024 kbit/s", "CIF", "mended in round 2",
        "80 km/h or 60 km/h?", "Passenger fell at Mill Lane stop", "black picture",
        "picture stands still", "wrong picture rate", "limit 25 fps", "FFmpeg blackdetect",
        "the start time of the second half could not be told", "Rolling vehicle",
        "2026-11-24T23:10:00Z", "24 Nov 2026, 23:10 +00:00", "H-0042",
    ]  # fmt: skip
    for needle in needles:
        assert needle in by_pdfium, needle
        assert needle in by_pypdf, needle
    for item in state.procedure.steps:
        assert item.title in by_pdfium


def test_every_setting_and_every_photograph_is_in_it(scene: Any, report: Report) -> None:
    text = text_of(report.pdf)
    state = scene.state
    fields = scene.request.menu_map.fields_in("4.0.2")
    assert len(fields) > 150
    for label in {item.label for item in fields}:
        assert label in text
    # 18 settings a camera in appendix A: each label stands there eight times at least.
    assert text.count("Motion area 10, sensitivity") == 8
    readings = [state.as_found, *(item.reading for item in state.rounds)]
    for reading in readings:
        for photo in reading.photos:
            assert photo.sha256 in text


def test_pages_are_numbered_and_carry_the_visit(scene: Any, report: Report) -> None:
    pages = pages_of(report.pdf)
    assert 6 <= len(pages) <= 14
    for number, text in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in text
        assert f"Visit {scene.state.id}" in text
    reader = pypdf.PdfReader(io.BytesIO(report.pdf))
    for page in reader.pages:
        # ISO 216: A4 is 210 mm x 297 mm; 1 pt = 25.4 / 72 mm.
        size = [float(page.mediabox.width), float(page.mediabox.height)]
        assert size == pytest.approx([210 / 25.4 * 72, 297 / 25.4 * 72], abs=0.1)


def test_title_author_and_date_are_the_visits(scene: Any, report: Report) -> None:
    reader = pypdf.PdfReader(io.BytesIO(report.pdf))
    assert reader.metadata is not None
    assert reader.metadata.title == f"Service report, vehicle 217, visit {scene.state.id}"
    assert reader.metadata.author == "Ada Penhallow"
    assert reader.metadata.creation_date == scene.state.closed_at
    root: Any = reader.trailer["/Root"]
    xmp = root["/Metadata"].get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in xmp
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in xmp


def test_it_keeps_the_traits_of_pdf_a(scene: Any, bare: Any, report: Report) -> None:
    check_traits(report.pdf)
    check_traits(made(scene, closed_at=None, closed_by=None).pdf)
    check_traits(made(bare).pdf)
    pictures = [picture for page in pypdf.PdfReader(io.BytesIO(report.pdf)).pages
                for picture in page.images]  # fmt: skip
    assert pictures  # else the check of pictures would have had nothing to look at


def test_another_serial_number_on_the_monitor_is_on_the_title_page(scene: Any) -> None:
    state: VisitState = scene.state
    assert state.as_found is not None
    row = Field("about.serial", "Serial", ReadOnly("serial"), means="serial")
    menu_map: MenuMap = scene.request.menu_map
    menu_map = replace(menu_map, pages=(*menu_map.pages, Page("about", "About", (row,))))

    def first_page(*serials: str) -> str:
        readings = []
        for reading, serial in zip(
            (state.as_found, *(item.reading for item in state.rounds)), serials, strict=True
        ):
            assert reading is not None
            read = FieldReading(row.id, row.label, serial, serial, State.SURE)
            readings.append(replace(reading, fields=(*reading.fields, read)))
        found, *left = readings
        rounds = tuple(
            replace(item, reading=reading) for item, reading in zip(state.rounds, left, strict=True)
        )
        part = scene.but(as_found=found, rounds=rounds)
        request = replace(part.request, menu_map=menu_map)
        pdf = make_report(request, pdf=TypstPdf(), blobs=part.blobs, pictures=part.pictures).pdf
        return pages_of(pdf)[0]

    listed = state.vehicle.recorder.serial
    same = first_page(listed, f" {listed}", listed)
    assert listed in same and "on the monitor" not in same and "fleet file" not in same
    other = first_page("QO-8-000981", "QO-8-000981", listed)
    assert f"fleet file {listed}, on the monitor QO-8-000981" in other
    two = first_page(listed, "QO-8-000981", "QO-8-000982")
    assert f"fleet file {listed}, on the monitor QO-8-000981 and QO-8-000982" in two


def test_the_qr_code_on_the_page_reads_as_the_visit(scene: Any, report: Report) -> None:
    document = pypdfium2.PdfDocument(report.pdf)
    page = np.asarray(document[0].render(scale=3).to_numpy()[..., :3], np.uint8)
    document.close()
    # OpenCV's detector shares no code with the maker of the code.
    value, _, _ = cv2.QRCodeDetector().detectAndDecode(page)
    assert value == scene.state.id


def test_the_same_visit_gives_the_same_bytes(scene: Any, report: Report) -> None:
    again = made(scene)
    assert again == report
    assert made(scene, head="0" * 64).sha256 != report.sha256


def test_secrets_are_only_set_or_blank(scene: Any) -> None:
    state: VisitState = scene.state
    assert state.as_found is not None and state.target is not None
    leaked = tuple(
        replace(item, value="hunter2", text="hunter2") if item.id == "net.code" else item
        for item in state.as_found.fields
    )
    target = tuple(
        replace(item, value="hunter2") if item.id == "net.code" else item
        for item in state.target.values
    )
    text = text_of(
        made(
            scene,
            as_found=replace(state.as_found, fields=leaked),
            target=replace(state.target, values=target),
        ).pdf
    )
    assert "hunter2" not in text


def test_a_missing_picture_is_said_in_its_place(report: Report) -> None:
    assert "is missing from the store" in text_of(report.pdf)


def test_an_open_visit_is_a_draft_on_every_page(scene: Any) -> None:
    open_visit = made(scene, closed_at=None, closed_by=None)
    for page in pages_of(open_visit.pdf):
        assert "DRAFT · visit not closed" in page
    assert "The visit is still open, so this is a draft." in pages_of(open_visit.pdf)[0]
    assert "DRAFT" not in text_of(made(scene).pdf)


def test_an_empty_visit_says_so_in_every_section(bare: Any) -> None:
    text = text_of(made(bare).pdf)
    for sentence in (
        "The settings were not photographed as found, so nothing is known about that state.",
        "No doubt was settled.",
        "No setting is known to differ between as found and as left.",
        "The settings were not photographed as left, so it is not known how they were left.",
        "No recording made since the last change was looked at",
        "No order to keep footage of this vehicle is known.",
        "No step was taken while its conditions did not hold.",
        "The procedure has no steps.",
        "The technician wrote no notes.",
        "The procedure has no cautions.",
        "No setting was read, agreed or compared.",
        "No photograph was taken.",
        "the journal is empty",
    ):
        assert sentence in text, sentence
    assert "Everything is as agreed" not in text


HOSTILE = '#panic("x") *b* ] $ \\ `r` <l> @m // c'


def test_hostile_names_stay_text(scene: Any) -> None:
    state: VisitState = scene.state
    vehicle = replace(
        state.vehicle, number=HOSTILE, plate="]*x*[", depot=HOSTILE,
        cameras=tuple(Camera(camera.channel, HOSTILE) for camera in state.vehicle.cameras),
    )  # fmt: skip
    override = replace(state.overrides[0], reason=HOSTILE, by='#import "style.typ": *')
    text = text_of(made(scene, vehicle=vehicle, overrides=(override,), fleet="#{1+1}").pdf)
    assert text.count('#panic("x") *b* ]') > 5
    assert "]*x*[" in text
    assert '#import "style.typ": *' in text
    assert "#{1+1}" in text


def outside(pdf: bytes) -> list[str]:
    """Characters that PDFium places outside the page's left and right margin (18 mm)."""
    document = pypdfium2.PdfDocument(pdf)
    found = []
    for number, page in enumerate(document, 1):
        text = page.get_textpage()
        width = page.get_width()
        for index in range(text.count_chars()):
            left, _, right, _ = text.get_charbox(index)
            letter = text.get_text_range(index, 1)
            margin = 18 / 25.4 * 72
            if letter.strip() and (left < margin - 1 or right > width - margin + 1):
                found.append(f"page {number}: {letter!r} at {left:.0f} to {right:.0f}")
        text.close()
        page.close()
    document.close()
    return found


def test_long_content_does_not_run_off_the_page(scene: Any) -> None:
    state: VisitState = scene.state
    long_word = "Wagenpark-Süd_" * 6
    vehicle = replace(
        state.vehicle, number="2" * 40, plate=long_word, depot=long_word,
        cameras=tuple(Camera(c.channel, long_word) for c in state.vehicle.cameras),
    )  # fmt: skip
    assert state.proof is not None
    sixth = next(rec for rec in state.proof.recordings if rec.channel == 6)
    many = tuple(
        replace(sixth.findings[k % 2], start_s=5.0 * k, end_s=5.0 * k + 3, note=long_word,
                source=long_word)
        for k in range(20)
    )  # fmt: skip
    crowded = replace(sixth, file=long_word + ".mp4", findings=many)
    proof = replace(
        state.proof,
        recordings=tuple(crowded if r is sixth else r for r in state.proof.recordings),
    )
    notes = (StepDone("secure", long_word, state.opened_at, long_word * 20),)
    report = made(scene, vehicle=vehicle, proof=proof, notes=notes, opened_by=long_word)
    assert outside(report.pdf) == []
    assert "picture stands still" in text_of(report.pdf)


def test_the_check_for_overflow_can_fail() -> None:
    source = b'#set page(paper: "a4", margin: 18mm)\n#box(width: 300mm)[#("word " * 60)]'
    pdf = typst.compile(source, format="pdf")
    assert outside(bytes(pdf))


def test_local_time_follows_the_fleet_not_the_machine(scene: Any) -> None:
    request: MakeReport = replace(scene.request, time_zone="Asia/Kathmandu")
    pdf = make_report(request, pdf=TypstPdf(), blobs=scene.blobs, pictures=scene.pictures).pdf
    # Nepal keeps UTC+05:45 (IANA tz database).
    assert "25 Nov 2026, 04:55 +05:45" in text_of(pdf)
    assert datetime.fromisoformat("2026-11-24T23:10:00Z") == scene.state.closed_at


def test_the_clock_as_found_and_as_left(scene: Any) -> None:
    state: VisitState = scene.state
    assert state.as_found is not None
    slow = ClockOffset(-194.2, -189.8, 2, "Europe/London", hint="a hint")
    found = replace(state.as_found, clock=slow)
    last = replace(state.rounds[-1], reading=replace(
        state.rounds[-1].reading, clock_note="no photograph shows the clock for sure: Clock"
    ))  # fmt: skip
    part = made(scene, as_found=found, rounds=(*state.rounds[:-1], last))
    text = text_of(part.pdf)
    assert "Clock as found: 3 min 12 s slow (± 3 s), from 2 photographs" in text
    assert "against Europe/London; the phone taken to be right to 1 s; a hint" in text
    assert "Clock as left: not known no photograph shows the clock for sure" in text


def test_what_faults_came_from_is_in_the_report(scene: Any, report: Report) -> None:
    assert "Faults whose cause was found" not in text_of(report.pdf)
    found = FaultFound(
        "fuse", "Blown fuse", "own", ("no-power-light",), (("look-at-fuse", "blown"),), (),
        "chafed #behind *the* panel", "ada", scene.state.opened_at, 3,
    )  # fmt: skip
    text = text_of(made(scene, faults=(found,)).pdf)
    assert "Faults whose cause was found" in text and "Blown fuse" in text
    assert "symptoms 1, checks 1, repairs in vain 0" in text
    assert "chafed #behind *the* panel" in text
