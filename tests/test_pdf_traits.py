"""The check of PDF/A traits fires: on a document without them, and where one is taken out."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pypdf
import pytest
from pypdf.generic import BooleanObject, DictionaryObject, NameObject
from tests.pdf_traits import check_traits

from asfound.ports.backends.pdf_typst import TypstPdf

SHEET: dict[str, object] = {
    "fleet": "F", "vehicle": "217", "visit": "V1", "recorder": "Quillfen Octad",
    "firmware": "4.0.2", "presses": 0, "time": "0 min", "fields": 0, "pages": [],
    "clock": [], "unknown": [], "added": [], "removed": [], "renamed": [], "version": "0",
}  # fmt: skip


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return TypstPdf().compile("rekey.typ", SHEET, {}, datetime(2026, 11, 24, tzinfo=UTC))


def without(pdf: bytes, change: Callable[[Any], None]) -> bytes:
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(pdf))
    change(writer)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _unembed(writer: Any) -> None:
    font = next(iter(writer.pages[0]["/Resources"]["/Font"].values())).get_object()
    inner = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
    for key in ("/FontFile", "/FontFile2", "/FontFile3"):
        inner.pop(NameObject(key), None)


def _script(writer: Any) -> None:
    writer.root_object[NameObject("/OpenAction")] = DictionaryObject(
        {NameObject("/S"): NameObject("/JavaScript")}
    )


def _smooth(writer: Any) -> None:
    picture = DictionaryObject(
        {
            NameObject("/Subtype"): NameObject("/Image"),
            NameObject("/Interpolate"): BooleanObject(True),
        }
    )
    writer.root_object[NameObject("/Picture")] = picture


def _drop(name: str) -> Callable[[Any], None]:
    def change(writer: Any) -> None:
        del writer.root_object[NameObject(name)]

    return change


def test_a_document_of_ours_has_them_all(pdf: bytes) -> None:
    check_traits(pdf)
    # Written again by another library it still has them: the check is not bound to one writer.
    check_traits(without(pdf, lambda writer: writer.generate_file_identifiers()))


@pytest.mark.parametrize(
    "change",
    [_drop("/OutputIntents"), _drop("/Metadata"), _drop("/MarkInfo"), _drop("/Lang"),
     _drop("/StructTreeRoot"), _unembed, _script, _smooth],
)  # fmt: skip
def test_each_trait_that_is_taken_out_is_missed(pdf: bytes, change: Callable[[Any], None]) -> None:
    def both(writer: Any) -> None:
        writer.generate_file_identifiers()
        change(writer)

    with pytest.raises((AssertionError, KeyError)):
        check_traits(without(pdf, both))
