"""What was typed about a camera and its lens, as a request for the sums."""

from __future__ import annotations

import re

from asfound.calc.lens_view import Camera
from asfound.errors import UsageError
from asfound.jobs.asked import Fields, figure, needed, quantity, text_of, whole
from asfound.jobs.view_lens import ViewLens

SIZE = re.compile(r"\s*(\d{1,2}(?:[.]\d{1,4})?)\s*[x×]\s*(\d{1,2}(?:[.]\d{1,4})?)\s*mm\s*")
EDITION = "2014"


def ask_lens(fields: Fields) -> ViewLens:
    """Fields: sensor 4.8x3.6mm · focal 2.8mm · pixels 1280 · distance 5m · need recognise · height
    2.5m · tilt 30 · edition 2014. Raises UsageError."""
    width, upright = _size(needed(fields, "sensor", "4.8x3.6mm"))
    focal = quantity(needed(fields, "focal", "2.8mm"), "focal", {"mm": 1.0}, 1e4)
    pixels = whole(needed(fields, "pixels", "1280"), "pixels", 1, 20_000)
    return ViewLens(
        Camera(width, upright, focal, pixels),
        text_of(fields, "edition", EDITION),
        _metres(fields, "distance"),
        text_of(fields, "need"),
        _metres(fields, "height"),
        figure(text_of(fields, "tilt", "0"), "tilt", -90, 90),
    )


def _metres(fields: Fields, name: str) -> float | None:
    text = text_of(fields, name)
    return quantity(text, name, {"m": 1.0}, 1e4) if text else None


def _size(text: str) -> tuple[float, float]:
    found = SIZE.fullmatch(text)
    if found is None or not float(found[1]) or not float(found[2]):
        raise UsageError(
            f"sensor {text!r}: write width x height from the data sheet, 4.8x3.6mm; types such as "
            "1/3 inch are names, not sizes"
        )
    return float(found[1]), float(found[2])
