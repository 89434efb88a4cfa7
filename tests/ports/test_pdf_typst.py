"""PDF/A by Typst. Outside checks: pypdf and pypdfium2 read the pages; keys and values of PDF/A
as ISO 19005-2 asks for them (clause numbers from memory, the standard is behind a paywall)."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.errors import InputError, MissingPart
from asfound.ports.backends import pdf_typst
from asfound.ports.backends.pdf_typst import TypstPdf, printable

AT = datetime(2026, 11, 24, 23, 10, tzinfo=UTC)


def raw(value: object) -> Any:
    """A PDF object as plain Python would have it: pypdf's types do not know a file's shape."""
    return value


def sheet(**more: object) -> dict[str, object]:
    """Data of a re-key sheet without pages: the smallest document there is."""
    empty: dict[str, object] = {
        "fleet": "F", "vehicle": "217", "visit": "V1", "recorder": "Quillfen Octad",
        "firmware": "4.0.2", "presses": 0, "time": "0 min", "fields": 0, "pages": [],
        "clock": [], "unknown": [], "added": [], "removed": [], "renamed": [], "version": "0",
    }  # fmt: skip
    return empty | more


def text_of(pdf: bytes) -> str:
    """All text as PDFium reads it, white space made single."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        pages = []
        for page in document:
            text = page.get_textpage()
            pages.append(text.get_text_range())
            text.close()
            page.close()
    finally:
        document.close()
    return " ".join(" ".join(pages).split())


def test_it_says_that_it_is_pdf_a_and_keeps_to_the_main_points() -> None:
    made = TypstPdf().compile("rekey.typ", sheet(), {}, AT)
    reader = pypdf.PdfReader(io.BytesIO(made))
    root = raw(reader.trailer["/Root"])
    xmp = root["/Metadata"].get_data().decode("utf-8")
    # ISO 19005-2, 6.6.4: part and conformance in the XMP packet.
    assert "<pdfaid:part>2</pdfaid:part>" in xmp
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in xmp
    # 6.6.3: dates in XMP and in the information dictionary agree.
    assert "2026-11-24T23:10:00" in xmp
    assert reader.metadata is not None
    assert reader.metadata.creation_date == AT
    # 6.2.3: an output intent of subtype GTS_PDFA1 with an ICC profile.
    intent = root["/OutputIntents"][0]
    assert intent["/S"] == "/GTS_PDFA1"
    assert intent["/DestOutputProfile"].get_data()[36:40] == b"acsp"
    # 6.1.3: a file identifier, no encryption. 6.7: tagged, language known.
    assert "/ID" in reader.trailer and not reader.is_encrypted
    assert root["/MarkInfo"]["/Marked"] and root["/Lang"] == "en"
    assert made.startswith(b"%PDF-1.7")


def test_every_font_is_embedded_with_unicode() -> None:
    made = TypstPdf().compile("rekey.typ", sheet(unknown=["Ωmega Жук ▲"]), {}, AT)
    reader = pypdf.PdfReader(io.BytesIO(made))
    fonts = {
        str(font["/BaseFont"]): font
        for page in reader.pages
        for font in (entry.get_object() for entry in raw(page["/Resources"])["/Font"].values())
    }
    assert fonts
    for name, font in fonts.items():
        inner = font["/DescendantFonts"][0]["/FontDescriptor"]
        assert any(key in inner for key in ("/FontFile", "/FontFile2", "/FontFile3")), name
        assert "/ToUnicode" in font, name
        assert "SourceSansPro" in name or "DejaVuSansMono" in name, name


def test_the_same_data_gives_the_same_bytes_and_the_date_counts() -> None:
    first = TypstPdf().compile("rekey.typ", sheet(), {}, AT)
    assert first == TypstPdf().compile("rekey.typ", sheet(), {}, AT)
    assert first != TypstPdf().compile("rekey.typ", sheet(), {}, AT.replace(minute=11))


@pytest.mark.parametrize(
    "hostile",
    ['#panic("x")', "*bold* _it_", "]", "$x^2$", "\\", "`raw`", "// gone", "/* gone",
     "@label <label>", "= Heading", '#import "style.typ": *', '"quoted"', "https://a.example/b"],
)  # fmt: skip
def test_text_is_never_markup(hostile: str) -> None:
    made = TypstPdf().compile("rekey.typ", sheet(vehicle=hostile, unknown=[hostile]), {}, AT)
    shown = text_of(made)
    assert shown.count(hostile) >= 2
    reader = pypdf.PdfReader(io.BytesIO(made))
    assert not any("/Annots" in page for page in reader.pages)


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=40))
def test_any_text_at_all_gives_a_document(text: str) -> None:
    made = TypstPdf().compile("rekey.typ", sheet(unknown=[text], visit=text), {}, AT)
    assert made.startswith(b"%PDF")


def test_what_no_font_has_is_written_out() -> None:
    # U+202E turns the text after it round on screen; U+4E2D is in neither font.
    assert printable({"a": ["safe", "ev\u202ele", "中", 3, None, True]}) == {
        "a": ["safe", "ev⟨U+202E⟩le", "⟨U+4E2D⟩", 3, None, True]
    }
    assert printable("tab\tnul\x00 soft\u00adhyphen") == (
        "tab⟨U+0009⟩nul⟨U+0000⟩ soft⟨U+00AD⟩hyphen"
    )
    assert printable("e\u0301") == "é"
    assert "⟨U+4E2D⟩" in text_of(TypstPdf().compile("rekey.typ", sheet(vehicle="中"), {}, AT))


def test_the_alphabet_taken_for_granted_really_is_in_the_font() -> None:
    plain = [chr(code) for code in range(32, 0x460) if pdf_typst._PLAIN.fullmatch(chr(code))]
    assert len(plain) > 400
    # One document with all of them: PDF/A does not allow a missing glyph.
    made = TypstPdf().compile("rekey.typ", sheet(unknown=[" ".join(plain)]), {}, AT)
    assert "ЯабвгАБВ"[:1] in text_of(made)


def test_system_fonts_play_no_part(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    first = TypstPdf().compile("rekey.typ", sheet(), {}, AT)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("FONTCONFIG_FILE", str(tmp_path / "none"))
    assert first == TypstPdf().compile("rekey.typ", sheet(), {}, AT)


def test_a_missing_font_or_compiler_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf_typst, "FONT_PACKAGE", "no_such_font_package")
    with pytest.raises(MissingPart, match="pip install font-source-sans-pro"):
        TypstPdf().compile("rekey.typ", sheet(), {}, AT)
    monkeypatch.undo()
    monkeypatch.setitem(__import__("sys").modules, "typst", None)
    with pytest.raises(MissingPart, match="pip install typst"):
        TypstPdf().compile("rekey.typ", sheet(), {}, AT)


def test_wrong_calls_are_one_line() -> None:
    pdf = TypstPdf()
    with pytest.raises(InputError, match="no such document template"):
        pdf.compile("absent.typ", {}, {}, AT)
    with pytest.raises(InputError, match="picture name"):
        pdf.compile("rekey.typ", sheet(), {"../x.jpg": b""}, AT)
    with pytest.raises(InputError, match=r"rekey\.typ.*not made") as caught:
        pdf.compile("rekey.typ", {"vehicle": ""}, {}, AT)
    assert "\n" not in str(caught.value)
