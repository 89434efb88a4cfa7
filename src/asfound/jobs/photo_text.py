"""The text of one photograph, whichever way the writing lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.joined_rows import joined_rows
from asfound.calc.match_page import PageMatch
from asfound.calc.textlines import (
    Line,
    Quads,
    as_box,
    cut,
    lies_sideways,
    sizes,
    straight_box,
    stretch,
)
from asfound.calc.turns import turn_picture, turn_quads
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Pixels

LOOK_SIDE = 960
"""Longest side, in pixels, at which text is looked for."""

UPRIGHT = 0.9
"""Legibility below which an upright picture is also tried upside down."""

TRIED = 6
"""Lines that are tried upside down."""

LARGEST = 2.0
"""A small picture is looked at up to this much larger."""

SMALL_TEXT = 13.0
"""Text lower than this (pixels at LOOK_SIDE) is looked for again, closer."""

ROOM, SIDEWAYS_ROOM = 0.08, 0.25
"""Room around the text, as a share of its size, when it is looked at closer."""

CLOSE, WIDER = (0.0, 0.0), (0.3, 0.12)
"""Padding of the first and second look at a line, in line heights along and across."""


@dataclass(frozen=True, slots=True)
class PhotoText:
    """The text of one photograph in reading order, on ``pixels`` turned so that it stands
    upright; ``turns`` quarter turns counter-clockwise were needed. In the ``unclear`` rows a
    value may belong to a neighbouring row's label."""

    lines: tuple[Line, ...]
    pixels: Pixels
    turns: int
    slopes: NDArray[np.float64]
    unclear: frozenset[int] = frozenset()


def photo_text(pixels: Pixels, ocr: Ocr) -> PhotoText:
    """Find and read all lines; the writing may lie in any direction."""
    quads = _detect(pixels, ocr)
    if not len(quads):
        return PhotoText((), pixels, 0, np.zeros(5))
    widths, heights = sizes(quads)
    if float(np.median(np.minimum(widths, heights))) * LOOK_SIDE / max(pixels.shape) < SMALL_TEXT:
        quads = _closer(pixels, quads, ocr)
    turns = 0
    if lies_sideways(quads):
        turns, quads = 1, turn_quads(quads, 1, pixels.shape)
        pixels = turn_picture(pixels, 1)
        # Writing that runs up or down is easily overlooked: look again, closer.
        again = _closer(pixels, quads, ocr, SIDEWAYS_ROOM)
        quads = again if len(again) >= len(quads) else quads
    lines = _recognise(pixels, quads, ocr)
    # Which way up sideways writing stands cannot be known.
    if turns or _legibility(lines) < UPRIGHT:
        other, flipped = turn_picture(pixels, 2), turn_quads(quads, 2, pixels.shape)
        longest = np.argsort(-sizes(flipped)[0])[:TRIED]
        tried = _recognise(other, flipped[longest], ocr)
        if _legibility(tried) > _legibility([lines[i] for i in longest]):
            turns, pixels = turns + 2, other
            lines = _recognise(pixels, flipped, ocr)
    joined = joined_rows(lines)
    straight = _straightened(pixels, joined.lines, joined.slopes, ocr)
    return PhotoText(straight, pixels, turns, joined.slopes, joined.unclear)


def _detect(pixels: Pixels, ocr: Ocr) -> Quads:
    scale = min(LARGEST, LOOK_SIDE / max(pixels.shape[:2]))
    size = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
    how = cv2.INTER_AREA if scale < 1.0 else cv2.INTER_CUBIC
    small = cv2.resize(pixels, size, interpolation=how)
    found = ocr.detect(np.asarray(small, dtype=np.uint8))
    return np.asarray(np.array(found, dtype=np.float64).reshape(-1, 4, 2) / scale)


def _closer(pixels: Pixels, quads: Quads, ocr: Ocr, share: float = ROOM) -> Quads:
    """Look again at just the part that has text, with a ``share`` of it around."""
    low, high = quads.min(axis=(0, 1)), quads.max(axis=(0, 1))
    room = share * (high - low)
    x0, y0 = np.maximum(low - room, 0).astype(int)
    x1, y1 = np.minimum(high + room, pixels.shape[1::-1]).astype(int)
    if (x1 - x0) * (y1 - y0) > 0.7 * pixels.shape[0] * pixels.shape[1]:
        return quads
    again = _detect(np.ascontiguousarray(pixels[y0:y1, x0:x1]), ocr)
    return np.asarray(again + np.array([x0, y0])) if len(again) else quads


def _recognise(pixels: Pixels, quads: Quads, ocr: Ocr) -> list[Line]:
    boxes = [as_box(quad) for quad in quads]
    read = ocr.recognise([cut(pixels, box, CLOSE) for box in boxes])
    return [
        Line(one.text, one.scores, one.places, box) for one, box in zip(read, boxes, strict=True)
    ]


def _straightened(
    pixels: Pixels, lines: Sequence[Line], slopes: NDArray[np.float64], ocr: Ocr
) -> tuple[Line, ...]:
    """The lines; lone signs whose outlines lean otherwise than their rows, along them instead."""
    boxes = {n: box for n, line in enumerate(lines) if (box := straight_box(line, slopes))}
    if not boxes:
        return tuple(lines)
    read = ocr.recognise([cut(pixels, box, CLOSE) for box in boxes.values()])
    again = dict(zip(boxes, read, strict=True))
    return tuple(
        replace(line, text=one.text, scores=one.scores, places=one.places, quad=boxes[n])
        if (one := again.get(n)) is not None
        else line
        for n, line in enumerate(lines)
    )


def _legibility(lines: Sequence[Line]) -> float:
    """Mean score of lines of three characters and more, by their length."""
    long = [line for line in lines if len(line.text) >= 3]
    total = sum(len(line.text) for line in long)
    return sum(line.score * len(line.text) for line in long) / total if total else 0.0


def wider_top(text: PhotoText, rivals: Sequence[PageMatch], ocr: Ocr) -> tuple[Line, ...]:
    """The lines above the first label, each recognised again with the room to its right."""
    first = min((hit.start for match in rivals for hit in match.hits if hit is not None), default=0)
    wider = []
    for index in range(first):
        line, after = text.lines[index], text.lines[index + 1]
        room = line.right + 4 * line.height
        if after.row == line.row:
            room = min(room, after.left - 0.3 * line.height)
        wider.append(stretch(line.quad, line.left, max(room, line.right)))
    read = ocr.recognise([cut(text.pixels, box, WIDER) for box in wider]) if wider else []
    top = [
        replace(line, text=one.text, scores=one.scores, places=one.places, quad=box)
        for line, box, one in zip(text.lines, wider, read, strict=False)
    ]
    return (*top, *text.lines[first:])
