"""Where a photograph may show a password or code, drawn generously, and painting it over.

What was recognised is not trusted to be all there is: an area reaches to the right end of the
page's values, and to the left, above and below as far as nothing else stands there.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.model.reading import Box, FieldReading, Point, SecretSpot

Vector = NDArray[np.float64]
Pixels = NDArray[np.uint8]

GREY = (128, 128, 128)
"""Neither a dark nor a light menu's ground: that something was painted over is to be seen."""

ABOVE, LEAST_ABOVE = 0.6, 0.5
"""Room above and below, in heights of the value: at most, and at least where rows are close."""

NEVER = 0.85
"""Share of the way to the next row's middle beyond which nothing is painted."""

LEFT, MOST_LEFT = 1.0, 4.0
RIGHT, MOST_RIGHT = 2.0, 8.0
"""Room to the left and right, in heights of the value: at least and at most."""

STEADY = 3.0
"""A box this many times as wide as high tells the direction of its row by itself."""


@dataclass(frozen=True, slots=True)
class _Row:
    """A box in coordinates along and across its row: ``left`` to ``right`` at ``middle``."""

    along: Vector
    down: Vector
    left: float
    right: float
    middle: float
    height: float

    def point(self, x: float, y: float) -> Point:
        """A point of the photograph."""
        x_, y_ = x * self.along + y * self.down
        return float(x_), float(y_)

    def seen(self, box: Box) -> _Row:
        """Another box in these coordinates."""
        points = np.asarray(box, dtype=np.float64)
        x, y = points @ self.along, points @ self.down
        height = float(abs(y[3] - y[0]) + abs(y[2] - y[1])) / 2
        return _Row(
            self.along, self.down, float(x.min()), float(x.max()), float(y.mean()), max(height, 1.0)
        )


def secret_spots(
    fields: Sequence[FieldReading], secrets: Collection[str], size: tuple[int, int]
) -> tuple[SecretSpot, ...]:
    """The areas of the ``secrets`` (field ids) among the ``fields`` of one photograph, which are
    in menu order; ``size`` is the photograph's (width, height).

    Where the value of a secret was not found, the whole strip between its neighbours is taken;
    without a neighbour the area is not known.
    """
    boxes = {field.id: field.box for field in fields if field.box is not None}
    spots = []
    for index, field in enumerate(fields):
        if field.id not in secrets:
            continue
        if field.box is not None:
            others = [box for name, box in boxes.items() if name != field.id]
            spots.append(SecretSpot(field.id, _grown(field.box, others)))
        else:
            before = next((f.box for f in reversed(fields[:index]) if f.box is not None), None)
            after = next((f.box for f in fields[index + 1 :] if f.box is not None), None)
            spots.append(SecretSpot(field.id, _strip(before, after, list(boxes.values()), size)))
    return tuple(spots)


def painted(pixels: Pixels, outlines: Sequence[Box]) -> Pixels:
    """A copy of ``pixels`` (H, W, 3) with the ``outlines`` painted over."""
    made = pixels.copy()
    for outline in outlines:
        # Outward to whole pixels: no edge of a letter is left.
        corners = np.asarray(outline, dtype=np.float64)
        middle = corners.mean(axis=0)
        whole = np.where(corners < middle, np.floor(corners), np.ceil(corners)).astype(np.int32)
        cv2.fillPoly(made, [whole], GREY)
    return made


def _row(box: Box, boxes: Sequence[Box]) -> _Row:
    """The box in the coordinates of its own direction; when it is too short to tell one, of the
    two nearest among ``boxes`` that do: rows fan out in a photograph taken from the side."""
    along = _direction(box)
    if not _is_steady(box):
        steady = sorted((b for b in boxes if _is_steady(b)), key=lambda b: _apart(b, box))
        if steady:
            mean = np.mean([_direction(b) for b in steady[:2]], axis=0)
            length = float(np.hypot(*mean))
            along = np.asarray(mean / length) if length > 1e-6 else _direction(steady[0])
    down = np.array([-along[1], along[0]])
    return _Row(along, down, 0.0, 0.0, 0.0, 1.0).seen(box)


def _direction(box: Box) -> Vector:
    a, b, c, d = np.asarray(box, dtype=np.float64)
    across = b - a + c - d
    length = float(np.hypot(*across))
    return np.asarray(across / length) if length > 1e-6 else np.array([1.0, 0.0])


def _is_steady(box: Box) -> bool:
    a, b, c, d = np.asarray(box, dtype=np.float64)
    width, height = np.hypot(*(b - a + c - d)), np.hypot(*(d - a + c - b))
    return bool(width >= STEADY * height and width > 0)


def _apart(one: Box, other: Box) -> float:
    return float(np.hypot(*(np.mean(one, axis=0) - np.mean(other, axis=0))))


def _grown(box: Box, others: Sequence[Box]) -> Box:
    own = _row(box, others)
    height, width = own.height, own.right - own.left
    around = [own.seen(other) for other in others]
    left = own.left - float(np.clip(width / 2, LEFT * height, MOST_LEFT * height))
    reach = max((other.right for other in around), default=own.right)
    room = float(np.clip(width, RIGHT * height, MOST_RIGHT * height))
    right = max(own.right + room, reach + height)
    beside = [o for o in around if abs(o.middle - own.middle) < 0.5 * max(height, o.height)]
    for other in beside:
        if other.left >= own.right:
            right = min(right, max(own.right, other.left - 0.2 * height))
        elif other.right <= own.left:
            left = max(left, min(own.left, other.right + 0.2 * height))
    rows = [o for o in around if o.left < right and o.right > left and o not in beside]
    up, down = (
        min((_room(own, other) for other in side), default=(0.5 + ABOVE) * height)
        for side in (
            [o for o in rows if o.middle < own.middle],
            [o for o in rows if o.middle > own.middle],
        )
    )
    corners = ((left, -up), (right, -up), (right, down), (left, down))
    a, b, c, d = (own.point(x, own.middle + y) for x, y in corners)
    return (a, b, c, d)


def _room(own: _Row, other: _Row) -> float:
    """How far ``own`` reaches from its middle towards another row: half of the gap is its own,
    within bounds, but never as far as the other's middle (blurred outlines overlap)."""
    apart = abs(other.middle - own.middle)
    gap = apart - (own.height + other.height) / 2
    reach = own.height / 2 + np.clip(gap / 2, LEAST_ABOVE * own.height, ABOVE * own.height)
    return float(min(reach, NEVER * apart))


def _strip(
    before: Box | None, after: Box | None, boxes: Sequence[Box], size: tuple[int, int]
) -> Box | None:
    """The whole stretch between two neighbours, or from one to the picture's edge."""
    near = before if before is not None else after
    if near is None:
        return None
    row = _row(near, boxes)
    width, height = float(size[0]), float(size[1])
    whole = np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])
    x, y = whole @ row.along, whole @ row.down
    left, right = float(x.min()), float(x.max())
    top = (row.point(left, float(y.min())), row.point(right, float(y.min())))
    bottom = (row.point(left, float(y.max())), row.point(right, float(y.max())))
    if before is not None and after is not None:
        apart = row.seen(after).middle - row.middle
        if apart < 0.8 * row.height + (row.height + row.seen(after).height) / 2:
            # Neighbours that are not one above the other do not say where it stands.
            return None
    if before is not None:
        top = _edge(_row(before, boxes), 0.5, whole)
    if after is not None:
        bottom = _edge(_row(after, boxes), -0.5, whole)
    return (*top, bottom[1], bottom[0])


def _edge(row: _Row, shift: float, whole: NDArray[np.float64]) -> tuple[Point, Point]:
    """The row's line, shifted by so many heights, from end to end of the ``whole`` picture."""
    x, y = whole @ row.along, row.middle + shift * row.height
    return row.point(float(x.min()), y), row.point(float(x.max()), y)
