"""The printed re-key sheet. Outside checks: PDFium reads the pages; sums by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pypdfium2
import pytest
from tests.pdf_traits import check_traits

from asfound.jobs.report_rekey import PrintRekey, print_rekey, rekey_data
from asfound.model.rekey import KeyRun, RekeyField, RekeyPage, RekeySheet
from asfound.ports.backends.pdf_typst import TypstPdf

AT = datetime(2026, 11, 24, 20, 58, tzinfo=UTC)


def run(key: str, times: int = 1) -> KeyRun:
    return KeyRun(key, times)


@pytest.fixture
def request_(scene: Any) -> PrintRekey:
    name = RekeyField(
        "camera-6.name", "Name on the picture", "CH6", "REAR DOOR", (run("DOWN", 2),),
        tuple(run(key, n) for key, n in [("OK", 1), ("UP", 2), ("RIGHT", 7)] * 20),
        cap_text="REAR DOOR",
    )  # fmt: skip
    rate = RekeyField(
        "camera-6.rate", "Picture rate", "12", "25", (run("DOWN", 3),), (run("PLUS", 13),)
    )
    code = RekeyField(
        "net.code", "Access code", "blank", "set", (run("DOWN"),), (), True, "hunter2",
        "a secret: ask whoever keeps it",
    )  # fmt: skip
    pages = (
        RekeyPage("network", "Network", 2, (run("PAGE >", 2),), (code,), ()),
        RekeyPage(
            "camera-6", "Camera 6", 9, (run("PAGE >", 7),), (name, rate),
            (run("DOWN", 4), run("OK")),
        ),
    )  # fmt: skip
    total = sum(page.presses for page in pages)
    sheet = RekeySheet(
        "quillfen-octad", "4.0.2", pages, total, 130.0, ("net.roam",), ("trig.old",),
        (("gsm.roam", "net.roam"),), ("clock.now",), ("net.apn",),
    )  # fmt: skip
    return PrintRekey(sheet, scene.request.menu_map, AT, "217 · QB 04 XKM", "V-1", "Brindlemere")


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


def test_presses_add_up_along_the_sheet(request_: PrintRekey) -> None:
    data: Any = rekey_data(request_)
    # Page 2: 2 to open, 1 to go there. Camera 6: 7 to open, 2 + 20 x 10, 3 + 13, 5 to store.
    assert [page["running"] for page in data["pages"]] == [3, 3 + 7 + 202 + 16 + 5]
    assert data["presses"] == data["pages"][-1]["running"]
    assert [field["running"] for field in data["pages"][1]["fields"]] == [212, 228]
    # 130 s are 2 min 10 s: rounded up, a plan that is too short helps nobody.
    assert data["time"] == data["pages"][-1]["time"] == "3\u00a0min"
    assert data["fields"] == 3


def test_the_paper_says_what_to_press(request_: PrintRekey) -> None:
    text = text_of(print_rekey(request_, pdf=TypstPdf()).pdf)
    for needle in (
        "Re-key sheet", "217 · QB 04 XKM", "Quillfen Octad", "4.0.2", "V-1", "233 of 233",
        "Page 9 · Camera 6", "PAGE >", "×7", "CH6 → REAR DOOR", "12 fps → 25 fps", "×13",
        "blank → set", "Set this one by hand: a secret: ask whoever keeps it",
        "Page done. Leaving it stores it.", "Clock and region · Time now",
        "Network · Mobile access point", "Triggers · Panic button tone",
        "gsm.roam → Network · Roaming", "page 1 of",
    ):  # fmt: skip
        assert needle in text, needle


def test_a_two_level_menu_names_the_group_too(request_: PrintRekey) -> None:
    pages = tuple(replace(page, group="Links") for page in request_.menu_map.pages)
    grouped = replace(request_, menu_map=replace(request_.menu_map, pages=pages))
    data: Any = rekey_data(grouped)
    assert [page["title"] for page in data["pages"]] == ["Links: Network", "Links: Camera 6"]


def test_a_secret_is_never_printed(request_: PrintRekey) -> None:
    assert "hunter2" not in text_of(print_rekey(request_, pdf=TypstPdf()).pdf)


def test_nothing_to_key_in_says_so(request_: PrintRekey, scene: Any) -> None:
    empty = RekeySheet("quillfen-octad", "4.0.2", (), 0, 0.0)
    made = print_rekey(PrintRekey(empty, scene.request.menu_map, AT), pdf=TypstPdf())
    assert "Nothing has to be keyed in" in text_of(made.pdf)
    assert "Set at the vehicle" not in text_of(made.pdf)


def test_it_keeps_the_traits_of_pdf_a(request_: PrintRekey) -> None:
    check_traits(print_rekey(request_, pdf=TypstPdf()).pdf)


def test_the_same_sheet_gives_the_same_bytes(request_: PrintRekey) -> None:
    first = print_rekey(request_, pdf=TypstPdf())
    assert first == print_rekey(request_, pdf=TypstPdf())
