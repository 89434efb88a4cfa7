"""Text lines on a slanted screen: which way is up, which lines share a row.

Lines of a menu are parallel on the monitor. In a photograph their slope changes slowly over
the picture; that change is fitted from the lines themselves, so no screen edge is needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.model.reading import Box

Quads = NDArray[np.float64]
"""n x 4 x 2: corners in pixels, clockwise from the text's top left."""

_ROUNDS = 4

_LONE, _LEANS = 1.8, 0.07
"""A line no longer than so many of its heights is a sign or two; radians (4 degrees) by which its
outline may lie off its row."""

_STEEPEST = 0.8
"""Change of the slope from the middle of the text to its ends: more is no readable screen."""


@dataclass(frozen=True, slots=True)
class Line:
    """A recognised line: text, score and place (0..1 along the line) per character, outline.

    ``row`` counts from the top; ``left``/``right`` are distances along the row in pixels and
    ``height`` is the line's height in pixels.
    """

    text: str
    scores: tuple[float, ...]
    places: tuple[float, ...]
    quad: Box
    row: int = 0
    left: float = 0.0
    right: float = 0.0
    height: float = 0.0

    @property
    def score(self) -> float:
        """Mean score of the characters; 0 without any."""
        return float(np.mean(self.scores)) if self.scores else 0.0


def sizes(quads: Quads) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Widths and heights (pixels) of n quads."""
    widths = np.linalg.norm(quads[:, 1] - quads[:, 0] + quads[:, 2] - quads[:, 3], axis=1) / 2
    heights = np.linalg.norm(quads[:, 3] - quads[:, 0] + quads[:, 2] - quads[:, 1], axis=1) / 2
    return widths, heights


def lies_sideways(quads: Quads) -> bool:
    """True when most of the writing runs up or down the picture."""
    widths, heights = sizes(quads)
    long = np.maximum(widths, heights) > 2 * np.minimum(widths, heights)
    if not long.any():
        return False
    area = widths * heights
    return bool(area[long & (heights > widths)].sum() > area[long & (widths > heights)].sum())


def as_box(quad: NDArray[np.float64]) -> Box:
    """Four corners of an array as plain numbers."""
    a, b, c, d = ((float(x), float(y)) for x, y in quad)
    return (a, b, c, d)


def row_slopes(quads: Quads) -> NDArray[np.float64]:
    """Fit the direction of the text over the picture; returns (a, b, c, x0, y0).

    Rows are parallel on the screen, so in the picture they meet in one far point: with ``x`` and
    ``y`` in pixels from (x0, y0) the slope is (a + c y) / (1 + c x), near the centre a + b x + c y
    with b = -a c. Long lines count for more; slopes far from the others are left out in later
    rounds.
    """
    middle = quads.mean(axis=1)
    centre = middle.mean(axis=0)
    along = (quads[:, 1] - quads[:, 0] + quads[:, 2] - quads[:, 3]) / 2
    slopes = along[:, 1] / np.where(np.abs(along[:, 0]) < 1e-6, 1e-6, along[:, 0])
    widths, heights = sizes(quads)
    weights = np.asarray(
        np.clip(widths / np.maximum(heights, 1.0) - 1.0, 0.0, 30.0), dtype=np.float64
    )
    if weights.sum() == 0:
        weights += 1.0
    scale = max(float(np.abs(middle - centre).max()), 1.0)
    x, y = ((middle - centre) / scale).T
    guess = np.full(len(quads), _weighted_median(slopes, weights))
    keep = np.abs(slopes - guess) < 0.25
    a, c = 0.0, 0.0
    for _ in range(_ROUNDS):
        used = weights * keep
        if used.sum() == 0:
            break
        design = np.column_stack([np.ones(len(quads)), y - guess * x])
        left = design.T @ (design * used[:, None]) + np.diag([1e-9, 0.3])
        a, c = (float(one) for one in np.linalg.solve(left, design.T @ (slopes * used)))
        c = float(np.clip(c, -_STEEPEST, _STEEPEST))
        guess = (a + c * y) / (1 + c * x)
        rest = np.abs(slopes - guess)
        keep = rest < max(0.02, 3 * float(np.median(rest[keep])) if keep.any() else 0.02)
    return np.array([a, -a * c / scale, c / scale, *centre])


def _weighted_median(values: NDArray[np.float64], weights: NDArray[np.float64]) -> float:
    order = np.argsort(values)
    running = np.cumsum(weights[order])
    return float(values[order][int(np.searchsorted(running, running[-1] / 2))])


def level(points: NDArray[np.float64], fit: NDArray[np.float64]) -> NDArray[np.float64]:
    """Height (pixels) at which each of n points meets the fit's vertical axis along its row."""
    a, _, c, x0, y0 = fit
    x, y = points[:, 0] - x0, points[:, 1] - y0
    return np.asarray((y - a * x) / _nearness(c * x))


def _nearness(shift: NDArray[np.float64]) -> NDArray[np.float64]:
    """1 + c x: how large the rows' distance is beside that at the axis; no row reaches the point
    in which all meet."""
    return np.asarray(np.maximum(1 + shift, 1 - _STEEPEST))


def row_strip(line: Line, fit: NDArray[np.float64], left: float, right: float) -> Box:
    """The stretch of the line's row from ``left`` to ``right``, as high as the line."""
    a, _, c, x0, y0 = fit
    middle = np.array(line.quad, dtype=np.float64).mean(axis=0)
    here = float(level(middle[None], fit)[0])
    half = line.height / 2

    def point(x: float, shift: float) -> tuple[float, float]:
        far = x - x0
        near = float(_nearness(np.array(c * far)))
        return x, y0 + here * near + a * far + shift

    return (point(left, -half), point(right, -half), point(right, half), point(left, half))


def straight_box(line: Line, fit: NDArray[np.float64]) -> Box | None:
    """The outline of a sign or two whose own outline leans otherwise than its row: the smallest
    rectangle round a lone 7 leans with its stroke, and cut along it the sign stands upright as a
    1. None where the outline is long, or lies along its row."""
    quad = np.array(line.quad, dtype=np.float64)
    widths, heights = sizes(quad[None])
    a, b, _, _ = (np.array(point) for point in row_strip(line, fit, line.left, line.right + 1.0))
    along = (b - a) / float(np.linalg.norm(b - a))
    own = quad[1] - quad[0] + quad[2] - quad[3]
    leans = float(np.arctan2(along[0] * own[1] - along[1] * own[0], float(own @ along)))
    if widths[0] > _LONE * heights[0] or abs(leans) < _LEANS:
        return None
    down = np.array([-along[1], along[0]])
    middle = quad.mean(axis=0)
    right = along * float(np.abs((quad - middle) @ along).max())
    below = down * float(np.abs((quad - middle) @ down).max())
    corners = (middle - right - below, middle + right - below, middle + right + below)
    return as_box(np.array([*corners, middle - right + below]))


def grouped(where: NDArray[np.float64], heights: NDArray[np.float64]) -> NDArray[np.intp]:
    """Row numbers, from the top, of n lines by where they meet the axis (see ``level``)."""
    pitch = float(np.median(heights))
    rows = np.zeros(len(where), dtype=np.intp)
    row, total, count = -1, 0.0, 0
    for index in np.argsort(where):
        # A row's height is judged beside it: perspective makes far rows smaller.
        near = 0.5 * min(pitch, float(heights[index])) + 1.0
        if count and where[index] - total / count < near:
            total, count = total + float(where[index]), count + 1
        else:
            row, total, count = row + 1, float(where[index]), 1
        rows[index] = row
    return rows


def in_rows(lines: Sequence[Line], fit: NDArray[np.float64]) -> list[Line]:
    """The lines with row, left, right and height filled in, in reading order."""
    if not lines:
        return []
    quads = np.array([line.quad for line in lines], dtype=np.float64)
    middle = quads.mean(axis=1)
    _, heights = sizes(quads)
    number_of = grouped(level(middle, fit), heights)
    rows = [np.flatnonzero(number_of == number) for number in range(int(number_of.max()) + 1)]
    placed = []
    for number, members in enumerate(rows):
        for index in sorted((int(i) for i in members), key=lambda i: float(quads[i, :, 0].mean())):
            quad = quads[index]
            placed.append(
                replace(
                    lines[index],
                    row=number,
                    left=float((quad[0, 0] + quad[3, 0]) / 2),
                    right=float((quad[1, 0] + quad[2, 0]) / 2),
                    height=float(heights[index]),
                )
            )
    return placed


def row_spans(lines: Sequence[Line]) -> Quads:
    """For each row of several lines the stretch from the first one's middle to the last one's:
    over its length a row's slope is known far better than from any one line."""
    spans = []
    rows: dict[int, list[Line]] = {}
    for line in lines:
        rows.setdefault(line.row, []).append(line)
    for row in rows.values():
        if len(row) < 2:
            continue
        ends = [np.array(line.quad).mean(axis=0) for line in (row[0], row[-1])]
        half = np.array([0.0, (row[0].height + row[-1].height) / 4])
        spans.append([ends[0] - half, ends[1] - half, ends[1] + half, ends[0] + half])
    return np.array(spans, dtype=np.float64).reshape(-1, 4, 2)


def cut(pixels: NDArray[np.uint8], quad: Box, pad: tuple[float, float]) -> NDArray[np.uint8]:
    """The quad's content as an upright picture; ``pad`` (along, across) in line heights.

    Negative padding trims. The picture is at most 96 pixels high.
    """
    corners = np.array(quad, dtype=np.float64)
    widths, heights = sizes(corners[None])
    width, height = float(widths[0]), max(float(heights[0]), 1.0)
    along = (corners[1] - corners[0] + corners[2] - corners[3]) / (2 * max(width, 1.0))
    down = (corners[3] - corners[0] + corners[2] - corners[1]) / (2 * height)
    x, y = along * pad[0] * height, down * pad[1] * height
    grown = corners + np.array([-x - y, x - y, x + y, -x + y])
    width, height = width + 2 * pad[0] * height, height * (1 + 2 * pad[1])
    size = (max(2, round(width)), max(2, round(height)))
    target = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], dtype=np.float32)
    matrix = cv2.getPerspectiveTransform(grown.astype(np.float32), target)
    crop = cv2.warpPerspective(pixels, matrix, size, borderMode=cv2.BORDER_REPLICATE)
    if size[1] > 96:
        small = (max(2, round(size[0] * 96 / size[1])), 96)
        crop = cv2.resize(crop, small, interpolation=cv2.INTER_AREA)
    return np.asarray(crop, dtype=np.uint8)


def narrowed(crop: NDArray[np.uint8], part: tuple[float, float]) -> NDArray[np.uint8]:
    """The crop from and to two shares of its width."""
    left, right = (round(share * crop.shape[1]) for share in part)
    return np.ascontiguousarray(crop[:, left : max(right, left + 2)])


def stretch(quad: Box, left: float, right: float) -> Box:
    """The quad cut or lengthened along its row to horizontal positions ``left``..``right``."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = quad
    top = (by - ay) / ((bx - ax) or 1e-6)
    base = (cy - dy) / ((cx - dx) or 1e-6)
    return (
        (left, ay + (left - ax) * top),
        (right, ay + (right - ax) * top),
        (right, dy + (right - dx) * base),
        (left, dy + (left - dx) * base),
    )
