"""The project's own recogniser on plain lines drawn with Pillow, in typefaces that it was not
trained on."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from asfound.calc.ctc import best_path
from asfound.demo.fonts import font
from asfound.ports.backends.ocr_lines import LineOcr

TEXTS = ("Record mode", "25 fps", "192.168.1.120", "H.264", "UTC+10", "Never", "12:45:30")


@pytest.fixture(scope="module")
def ocr() -> LineOcr:
    return LineOcr(threads=1)


def drawn(text: str, face: str, size: int, ink: int, ground: int) -> NDArray[np.uint8]:
    type_ = font(face, size)
    wide = int(type_.getlength(text))
    picture = Image.new("RGB", (wide + size, size + size // 2), (ground,) * 3)
    ImageDraw.Draw(picture).text((size // 2, size // 8), text, (ink,) * 3, type_)
    return np.asarray(picture, dtype=np.uint8)


def read(ocr: LineOcr, crops: list[NDArray[np.uint8]]) -> list[str]:
    return [best_path(one.scores, one.alphabet)[0] for one in ocr.lattices(crops)]


@pytest.mark.parametrize("face", ["DejaVuSans.ttf", "LiberationMono-Regular.ttf"])
@pytest.mark.parametrize("size", [20, 26, 30])
@pytest.mark.parametrize(("ink", "ground"), [(235, 20), (15, 225)])
def test_plain_lines_are_read(ocr: LineOcr, face: str, size: int, ink: int, ground: int) -> None:
    crops = [drawn(text, face, size, ink, ground) for text in TEXTS]
    assert read(ocr, crops) == list(TEXTS)


def test_look_alikes_are_read_as_drawn(ocr: LineOcr) -> None:
    # No language helps here: an ordinary word with a figure in it stays as it is drawn.
    texts = ["0n", "On", "0FF", "B8B8", "5S5S", "Z2Z2"]
    crops = [drawn(text, "LiberationMono-Regular.ttf", 30, 235, 20) for text in texts]
    assert read(ocr, crops) == texts


def test_rows_of_a_lattice_are_chances(ocr: LineOcr) -> None:
    for one in ocr.lattices([drawn(text, "DejaVuSans.ttf", 24, 235, 20) for text in TEXTS]):
        assert one.scores.ndim == 2 and one.scores.shape[1] == len(one.alphabet) + 1
        assert one.scores.min() >= 0
        assert one.scores.sum(axis=1) == pytest.approx(1.0, abs=1e-3)
        assert len(set(one.alphabet)) == len(one.alphabet)


def test_a_line_reads_the_same_alone_and_among_others(ocr: LineOcr) -> None:
    crops = [drawn(text, "DejaVuSans.ttf", 24, 235, 20) for text in TEXTS]
    together = ocr.lattices(crops)
    for crop, among in zip(crops, together, strict=True):
        (alone,) = ocr.lattices([crop])
        assert alone.scores == pytest.approx(among.scores, abs=1e-4)


def test_crops_of_any_size_give_a_lattice_each(ocr: LineOcr) -> None:
    sizes = [(1, 1), (3, 400), (60, 4), (200, 2400), (32, 1020)]
    crops = [np.full((high, wide, 3), 90, np.uint8) for high, wide in sizes]
    assert len(ocr.lattices(crops)) == len(sizes)


def test_nothing_in_nothing_out(ocr: LineOcr) -> None:
    assert list(ocr.lattices([])) == []
