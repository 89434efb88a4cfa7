"""The text recognition back-end, on lines drawn with OpenCV's own font."""

from __future__ import annotations

import logging

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from asfound.calc.ctc import best_path
from asfound.ports.backends.ocr_rapid import RapidOcr


@pytest.fixture(scope="module")
def ocr() -> RapidOcr:
    return RapidOcr(threads=1)


def drawn(*texts: str) -> NDArray[np.uint8]:
    board = np.full((70 * len(texts) + 30, 640, 3), 30, np.uint8)
    for row, text in enumerate(texts):
        at = (30, 70 * row + 65)
        cv2.putText(board, text, at, cv2.FONT_HERSHEY_SIMPLEX, 1.3, (230, 230, 230), 3)
    return board


def test_lines_are_found_and_read(ocr: RapidOcr) -> None:
    board = drawn("Record", "Quality 25", "12:45")
    boxes = sorted(ocr.detect(board), key=lambda box: box[0][1])
    assert len(boxes) == 3
    for row, ((x0, y0), (x1, _), (_, y2), _) in enumerate(boxes):
        assert x0 < 60 < x1 and y0 < 70 * row + 55 < y2
    crops = [board[70 * row + 20 : 70 * row + 85, 10:400] for row in range(3)]
    read = ocr.recognise(crops)
    assert [one.text.strip() for one in read] == ["Record", "Quality 25", "12:45"]
    for one in read:
        assert len(one.scores) == len(one.places) == len(one.text)
        assert all(0 <= score <= 1 for score in one.scores)
        assert list(one.places) == sorted(one.places) and 0 <= one.places[0] < one.places[-1] <= 1


def test_places_point_at_the_characters(ocr: RapidOcr) -> None:
    one = ocr.recognise([drawn("Overwrite oldest")[10:90, :420]])[0]
    assert one.text[0] == "O" and one.text[-1] == "t"
    assert one.places[0] < 0.2 and one.places[-1] > 0.75


def test_batches_do_not_change_what_is_read(ocr: RapidOcr) -> None:
    crops = [
        drawn(text)[10:90, : 60 + 26 * len(text)] for text in ("On", "Overwrite oldest", "7 s")
    ]
    together = [one.text for one in ocr.recognise(crops)]
    assert together == [ocr.recognise([crop])[0].text for crop in crops]


def test_all_that_was_seen_leads_to_the_same_text(ocr: RapidOcr) -> None:
    """The likeliest path of connectionist temporal classification (Graves et al. 2006)."""
    crops = [
        drawn(text)[10:90, : 60 + 26 * len(text)] for text in ("On", "Overwrite oldest", "12:45")
    ]
    seen = ocr.first_lattices(crops)
    for one, read in zip(seen, ocr.recognise(crops), strict=True):
        text, _, places = best_path(one.scores, one.alphabet)
        assert text == read.text
        # A crop seldom ends with a place: the last one reaches beyond it.
        assert places == pytest.approx(read.places, abs=1 / len(one.scores))
        assert one.scores.shape[1] == 1 + len(one.alphabet)
        sums = one.scores.sum(axis=1)
        assert sums.max() <= 1.001 and np.median(sums) > 0.95
    assert list(ocr.first_lattices([])) == []


def test_nothing_is_found_in_nothing(ocr: RapidOcr) -> None:
    assert list(ocr.detect(np.full((200, 300, 3), 80, np.uint8))) == []
    assert list(ocr.recognise([])) == []


def test_it_says_nothing(ocr: RapidOcr, capfd: pytest.CaptureFixture[str]) -> None:
    RapidOcr(threads=1)
    out, err = capfd.readouterr()
    assert (out, err) == ("", "")
    assert logging.getLogger("RapidOCR").level >= logging.ERROR
