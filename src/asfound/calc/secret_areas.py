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

from asfound.model.reading import Box, FieldReading, SecretSpot

Vector = NDArray[np.float64]
Pixels = NDArray[np.uint8]

GREY = (128, 128, 128)
"""Neither a dark nor a light menu's ground: that something was painted over is to be seen."""

ABOVE, LEAST_ABOVE = 0.6, 0.15
"""Room above and below, in heights of the value: at most, and at least where rows are close."""

LEFT, MOST_LEFT = 1.0, 4.0
"""Room to the left, in heights of the value: at least and at most."""

STEADY = 3.0
"""A box this many times as wide as high tells the direction of its row by itself."""


@dataclass(frozen=True, slots=True)
class _Frame:
    """A box in the coordinates of its own row: along from left to right, down."""

    along: Vector
    down: Vector
    left: float
    right: float
    top: float
    bottom: float

    @property
    def height(self) -> float:
        return max(self.bottom - self.top, 1.0)

    def corners(self, left: float, right: float, top: float, bottom: float) -> Box:
        spots = ((left, top), (right, top), (right, bottom), (left, bottom))
        a, b, c, d = (
            (float(point[0]), float(point[1]))
            for point in (x * self.along + y * self.down for x, y in spots)
        )
        return (a, b, c, d)

    def seen(self, box: Box) -> _Frame:
        """Another box in these coordinates."""
        points = np.asarray(box, dtype=np.float64)
        x, y = points @ self.along, points @ self.down
        return _Frame(self.along, self.down, *map(float, (x.min(), x.max(), y.min(), y.max())))


def secret_spots(
    fields: Sequence[FieldReading], secrets: Collection[str], size: tuple[int, int]
) -> tuple[SecretSpot, ...]:
    """The areas of the ``secrets`` (field ids) among the ``fields`` of one photograph, which are
    in menu order; ``size`` is the photograph's (width, height).

    Where the value of a secret was not found, the whole strip between its neighbours is taken;
    without a neighbour the area is not known.
    """
    boxes = {field.id: field.box for field in fields if field.box is not None}
    course = _course(list(boxes.values()))
    spots = []
    for index, field in enumerate(fields):
        if field.id not in secrets:
            continue
        if field.box is not None:
            others = [box for name, box in boxes.items() if name != field.id]
            spots.append(SecretSpot(field.id, _grown(field.box, others, course)))
        else:
            before = next((f.box for f in reversed(fields[:index]) if f.box is not None), None)
            after = next((f.box for f in fields[index + 1 :] if f.box is not None), None)
            spots.append(SecretSpot(field.id, _strip(before, after, course, size)))
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


def _course(boxes: Sequence[Box]) -> Vector | None:
    """The direction of the writing, by the median of the longer boxes; None without any."""
    frames = [_own(box, None) for box in boxes]
    along = [f.along for f in frames if f.right - f.left >= STEADY * f.height] or [
        f.along for f in frames
    ]
    if not along:
        return None
    middle = np.median(np.array(along), axis=0)
    length = float(np.hypot(*middle))
    return np.asarray(middle / length) if length > 1e-6 else along[0]


def _own(box: Box, course: Vector | None) -> _Frame:
    """The box in the coordinates of its own direction, or of ``course`` when it is too short."""
    a, b, c, d = np.asarray(box, dtype=np.float64)
    across, high = (b - a + c - d) / 2, (d - a + c - b) / 2
    width, height = float(np.hypot(*across)), float(np.hypot(*high))
    along = across / width if width > 1e-6 else np.array([1.0, 0.0])
    if course is not None and width < STEADY * height:
        along = course
    down = np.array([-along[1], along[0]])
    if float(down @ high) < 0:
        down = -down
    return _Frame(along, down, 0.0, 0.0, 0.0, 0.0).seen(box)


def _grown(box: Box, others: Sequence[Box], course: Vector | None) -> Box:
    own = _own(box, course)
    height, width = own.height, own.right - own.left
    around = [own.seen(other) for other in others]
    left = own.left - min(max(LEFT * height, 0.5 * width), MOST_LEFT * height)
    reach = max((other.right for other in around), default=own.right)
    right = max(own.right + max(width, 2 * height), reach + height)
    beside = [o for o in around if o.top < own.bottom - 0.3 * height < o.bottom + 0.4 * height]
    beside = [o for o in beside if o.bottom > own.top + 0.3 * height]
    for other in beside:
        if other.left >= own.right:
            right = min(right, max(own.right, other.left - 0.2 * height))
        elif other.right <= own.left:
            left = max(left, min(own.left, other.right + 0.2 * height))
    rows = [o for o in around if o.left < right and o.right > left and o not in beside]
    above = min((own.top - o.bottom for o in rows if o.bottom <= own.top), default=np.inf)
    below = min((o.top - own.bottom for o in rows if o.top >= own.bottom), default=np.inf)
    up, down = (
        float(np.clip(gap / 2, LEAST_ABOVE * height, ABOVE * height)) for gap in (above, below)
    )
    return own.corners(left, right, own.top - up, own.bottom + down)


def _strip(
    before: Box | None, after: Box | None, course: Vector | None, size: tuple[int, int]
) -> Box | None:
    """The whole stretch between two neighbours, or from one to the picture's edge."""
    near = before if before is not None else after
    if near is None or course is None:
        return None
    frame = _own(near, course)
    width, height = size
    whole = frame.seen(((0.0, 0.0), (float(width), 0.0), (float(width), float(height)),
                        (0.0, float(height))))  # fmt: skip
    top = whole.top if before is None else frame.seen(before).bottom
    bottom = whole.bottom if after is None else frame.seen(after).top
    if bottom - top < 0.8 * frame.height:
        # Neighbours that are not one above the other do not say where it stands.
        return None
    return frame.corners(whole.left, whole.right, top, bottom)
