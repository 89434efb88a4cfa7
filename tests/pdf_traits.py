"""What PDF/A-2a asks of every document, checked with pypdf (tests only). Keys and values as ISO
19005-2 has them; clause numbers from memory, the standard is behind a paywall."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import pypdf
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject

ACTIVE = {"/JavaScript", "/Launch", "/Movie", "/Sound", "/ImportData", "/ResetForm", "/SubmitForm"}
"""Actions that a document for keeping must not have (6.5.1)."""


def check_traits(pdf: bytes) -> None:
    """Raises AssertionError where ``pdf`` lacks a trait of PDF/A-2a."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    root: Any = reader.trailer["/Root"]
    things = list(_objects(root))
    xmp = root["/Metadata"].get_data().decode("utf-8")
    # 6.6.4: part and conformance in the XMP packet, which is not compressed (6.6.2.1).
    assert "<pdfaid:part>2</pdfaid:part>" in xmp
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in xmp
    assert "/Filter" not in root["/Metadata"]
    # 6.2.3: an output intent of subtype GTS_PDFA1 with an ICC profile ("acsp": ICC.1, 7.2.11).
    intent = root["/OutputIntents"][0]
    assert intent["/S"] == "/GTS_PDFA1"
    assert intent["/DestOutputProfile"].get_data()[36:40] == b"acsp"
    # 6.1.3: a file identifier, no encryption. 6.7: tagged, language known.
    assert "/ID" in reader.trailer and not reader.is_encrypted
    assert root["/MarkInfo"]["/Marked"] and root["/Lang"]
    assert root["/StructTreeRoot"]["/K"]
    _check_fonts([one for one in things if one.get("/Type") == "/Font"])
    _check_pictures([one for one in things if one.get("/Subtype") == "/Image"])
    # 6.7.3: alternate text for every figure.
    for figure in (one for one in things if one.get("/S") == "/Figure"):
        assert figure.get("/Alt") or figure.get("/ActualText")
    # 6.5.1 and 6.9: nothing that acts by itself, nothing outside the file.
    assert not {one.get("/S") for one in things} & ACTIVE
    assert "/OpenAction" not in root and "/AA" not in root


def _check_fonts(fonts: list[Any]) -> None:
    """6.2.11.4: every font program is embedded. 6.2.11.7: its text is known as Unicode."""
    assert fonts
    for font in fonts:
        if font["/Subtype"] == "/Type3":
            continue
        if font["/Subtype"] == "/Type0":
            assert "/ToUnicode" in font, font["/BaseFont"]
            continue
        inner = font["/FontDescriptor"]
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(inner), font["/BaseFont"]


def _check_pictures(pictures: list[Any]) -> None:
    """6.2.8: not smoothed at will, no other version of a picture, nothing outside the file."""
    for picture in pictures:
        assert not picture.get("/Interpolate", False)
        assert "/Alternates" not in picture and "/F" not in picture
        assert "/LZWDecode" not in str(picture.get("/Filter"))


def _objects(start: object) -> Iterator[DictionaryObject]:
    """Every dictionary of the document, each once."""
    seen: set[int] = set()
    waiting: list[object] = [start]
    while waiting:
        one = waiting.pop()
        if isinstance(one, IndirectObject):
            if one.idnum in seen:
                continue
            seen.add(one.idnum)
            one = one.get_object()
        if isinstance(one, DictionaryObject):
            yield one
            waiting += [one.raw_get(key) for key in one]
        elif isinstance(one, ArrayObject):
            waiting += list(one)
