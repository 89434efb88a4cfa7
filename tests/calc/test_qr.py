"""The QR picture's bytes; that it can be read is checked on the finished page, with OpenCV."""

from __future__ import annotations

from xml.etree import ElementTree

from asfound.calc.qr import qr_svg


def test_it_is_an_svg_and_the_same_every_time() -> None:
    made = qr_svg("V-20261124-217-7K3Q")
    assert ElementTree.fromstring(made).tag == "{http://www.w3.org/2000/svg}svg"
    assert made == qr_svg("V-20261124-217-7K3Q")
    assert made != qr_svg("V-20261124-217-7K3R")
