"""Labels: their code is read again by OpenCV's reader of QR codes, from SVG and from PDF."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from io import BytesIO

import cv2
import numpy as np
import pytest
import vl_convert
from PIL import Image
from tests.visit_kit import T0

from asfound.calc.drive_label import label_svg
from asfound.calc.drive_names import label_text, read_label, register_id
from asfound.calc.qr import qr_svg
from asfound.jobs.drive_label import (
    TEMPLATE,
    LabelDrive,
    drive_label_pdf,
    drive_label_svg,
    label_lines,
)
from asfound.model.drive_register import DriveState
from asfound.ports.backends.pdf_typst import TypstPdf

DRIVE = DriveState("tl-88301-c", register_id("tl-88301-c"), "TL-88301-C", "ssd", 480_103_981_056)
ASKED = LabelDrive(DRIVE, "Brindlemere Haulage & Coaches")
TEXT = label_text("tl-88301-c", "TL-88301-C", ASKED.fleet)


def decoded(png: bytes) -> str:
    grey = np.asarray(Image.open(BytesIO(png)).convert("L"))
    return cv2.QRCodeDetector().detectAndDecode(grey)[0]


def test_the_code_of_the_svg_says_the_drive() -> None:
    made = drive_label_svg(ASKED)
    root = ET.fromstring(made)
    assert (root.get("width"), root.get("height")) == ("62mm", "29mm")
    told = ["".join(each.itertext()) for each in root.iter("{http://www.w3.org/2000/svg}text")]
    assert told == [register_id("tl-88301-c"), "TL-88301-C", "solid state, 480 GB", ASKED.fleet]
    read = decoded(vl_convert.svg_to_png(made, scale=4))
    assert read == TEXT and read_label(read) == "tl-88301-c"
    assert made == drive_label_svg(ASKED)


def test_the_code_of_the_pdf_says_the_drive() -> None:
    pdf = TypstPdf()
    made = drive_label_pdf(ASKED, T0, pdf=pdf)
    assert made.startswith(b"%PDF-")
    data = {"lines": list(label_lines(ASKED))}
    pages = pdf.page_pictures(TEMPLATE, data, {"code.svg": qr_svg(TEXT)}, T0, 300)
    assert len(pages) == 1 and decoded(pages[0]) == TEXT
    # 62 mm x 29 mm at 300 dots an inch of 25.4 mm.
    assert Image.open(BytesIO(pages[0])).size == pytest.approx((732, 343), abs=2)


@pytest.mark.parametrize("fleet", ["<&\"'>", "Größe 8 ✓", "x" * 120])
def test_whatever_a_fleet_is_called_the_label_reads(fleet: str) -> None:
    made = drive_label_svg(LabelDrive(DRIVE, fleet))
    assert ET.fromstring(made) is not None
    assert decoded(vl_convert.svg_to_png(made, scale=6)) == label_text(
        "tl-88301-c", "TL-88301-C", fleet
    )


def test_lines_that_are_too_long_are_made_narrower() -> None:
    assert "textLength" not in label_svg("x", ("short",))
    assert 'textLength="32"' in label_svg("x", ("a serial number of many letters",))
