"""Signing a visit: what is signed, what came later, and what is refused."""

from __future__ import annotations

import io
from datetime import UTC
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image, ImageDraw
from tests.visit_kit import MAP, desk, opened

from asfound.errors import IntegrityError, PictureError, UsageError
from asfound.jobs.report import MakeReport, make_report, report_data
from asfound.jobs.visit_act import AddNote, CloseVisit, OverrideGate, close_visit, note, override
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_gates import shut_gates
from asfound.jobs.visit_journal import Book, Desk, load_visit
from asfound.jobs.visit_sign import SignVisit, sign_visit
from asfound.model.visit import VisitState
from asfound.ports.backends.pdf_typst import TypstPdf
from asfound.ports.backends.pictures_pillow import PillowPictures

PICTURES = PillowPictures()


def stroke(mode: str = "L", paper: object = 255, ink: object = 0) -> bytes:
    """A picture of a zigzag, as a finger draws it."""
    image = Image.new(mode, (600, 240), paper)  # type: ignore[arg-type] # a colour as the mode has it
    points = [(200, 150), (240, 90), (280, 150), (330, 90), (380, 150)]
    ImageDraw.Draw(image).line(points, fill=ink, width=4)  # type: ignore[arg-type] # likewise
    packed = io.BytesIO()
    image.save(packed, "PNG")
    return packed.getvalue()


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def signed(at: Desk, visit: str, name: str = "Mary Quill", role: str = "operator") -> VisitState:
    return sign_visit(SignVisit(visit, name, role, stroke()), desk=at, pictures=PICTURES)


def closed(at: Desk) -> VisitState:
    state = opened(at, "inspection")
    step = state.procedure.of_kind("close")
    assert step is not None
    for gate in shut_gates(state, step):
        override(OverrideGate(state.id, step.id, gate.gate, "ada", "why"), desk=at)
    return close_visit(CloseVisit(state.id, "ada"), desk=at)


def pdf_text(state: VisitState, at: Desk) -> str:
    made = make_report(
        MakeReport(state, MAP, "Europe/London"), pdf=TypstPdf(), blobs=at.blobs, pictures=PICTURES
    )
    document = pypdfium2.PdfDocument(made.pdf)
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return " ".join(text.split())


def test_what_is_signed_is_the_journal_before(at: Desk) -> None:
    before = opened(at)
    state = signed(at, before.id)
    (one,) = state.signatures
    assert (one.name, one.role, one.head, one.entry) == (
        "Mary Quill", "operator", before.head, before.entries,
    )  # fmt: skip
    assert one.at.tzinfo is UTC
    assert at.store.entries(before.id)[-1].previous == one.head
    assert state.changes_since(one) == 0
    assert load_visit(before.id, store=at.store, blobs=at.blobs) == state


def test_the_picture_is_cut_to_the_ink_and_kept_by_its_hash(at: Desk) -> None:
    state = signed(at, opened(at).id)
    kept = Image.open(io.BytesIO(at.blobs.get(state.signatures[0].picture)))
    # Drawn 180 by 60 pixels: what is kept is that and a little paper around it.
    assert 180 <= kept.width <= 210 and 60 <= kept.height <= 90
    assert np.asarray(kept.convert("L")).min() < 60
    assert check_visit(state.id, store=at.store, blobs=at.blobs).faults == ()


def test_a_signature_on_nothing_is_read_as_one_on_paper(at: Desk) -> None:
    """What drawing surfaces give: ink on a transparent ground."""
    picture = stroke("RGBA", (0, 0, 0, 0), (0, 0, 0, 255))
    visit = opened(at).id
    state = sign_visit(SignVisit(visit, "ada", picture=picture), desk=at, pictures=PICTURES)
    assert state.signatures[0].picture


def test_a_later_change_is_no_part_of_what_was_signed(at: Desk) -> None:
    visit = opened(at).id
    signed(at, visit)
    signed(at, visit, "Bo", "technician")
    assert (
        load_visit(visit, store=at.store, blobs=at.blobs).changes_since(
            load_visit(visit, store=at.store, blobs=at.blobs).signatures[0]
        )
        == 0
    ), "a second signature changes nothing"
    state = note(AddNote(visit, "ada", "the seal is broken"), desk=at)
    assert [state.changes_since(item) for item in state.signatures] == [1, 1]
    text = pdf_text(state, at)
    assert "of an earlier state: 1 entry written since" in text
    assert state.signatures[0].head in text.replace(" ", "")


def test_a_closed_visit_is_signed_and_takes_nothing_else(at: Desk) -> None:
    visit = closed(at).id
    state = signed(at, visit)
    assert state.closed and state.changes_since(state.signatures[0]) == 0
    with pytest.raises(UsageError, match="closed"):
        note(AddNote(visit, "ada", "x"), desk=at)
    with pytest.raises(IntegrityError, match="after the closing"):
        Book(visit, at, closed_too=True).write("ada", "noted", {"step": "", "note": "x"})


def test_the_report_names_who_signed_and_keeps_lines_for_the_others(at: Desk) -> None:
    state = signed(at, closed(at).id)
    data, files = report_data(
        MakeReport(state, MAP, "Europe/London"), blobs=at.blobs, pictures=PICTURES
    )
    rows = data["signatures"]
    assert isinstance(rows, list)
    assert [(row["signed"], row["role"]) for row in rows] == [
        (True, "For the operator"), (False, "Technician"),
    ]  # fmt: skip
    assert rows[0]["shot"]["file"] in files
    text = pdf_text(state, at)
    assert "For the operator: Mary Quill" in text and "signed as it stands here" in text
    assert "Technician: ada" in text and "Name, date, signature" in text


def test_a_name_alone_signs(at: Desk) -> None:
    visit = opened(at).id
    state = sign_visit(SignVisit(visit, "ada"), desk=at, pictures=PICTURES)
    assert state.signatures[0].picture == ""
    assert "picture" not in at.store.entries(visit)[-1].data
    assert "signed by name alone" in pdf_text(state, at)


@pytest.mark.parametrize(
    ("request_", "error", "said"),
    [
        (SignVisit("", " "), UsageError, "who did it"),
        (SignVisit("", "ada", "boss"), UsageError, "choose one of technician"),
        (SignVisit("", "ada", picture=b"%PDF-1.7"), PictureError, "signature's picture"),
        (SignVisit("", "ada", picture=stroke(ink=255)), UsageError, "blank"),
        (SignVisit("", "ada", picture=b"x" * 8_000_001), UsageError, "at most"),
    ],
)
def test_what_is_no_signature_is_refused_and_nothing_is_written(
    at: Desk, request_: SignVisit, error: type[Exception], said: str
) -> None:
    state = opened(at)
    asked = SignVisit(state.id, request_.name, request_.role, request_.picture)
    with pytest.raises(error, match=said):
        sign_visit(asked, desk=at, pictures=PICTURES)
    assert at.store.heads([state.id])[state.id] == (state.entries, state.head)
