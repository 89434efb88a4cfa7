"""The light on a page, along its rows: where the ground behind the writing is brighter, darker or
of another colour than elsewhere.

All from the outlines of the values: the rows' direction and distance are theirs, so that no edge
of the screen has to be seen. A cursor bar is no light: beyond a bar, between the rows, the ground
is as everywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.textlines import row_slopes
from asfound.model.reading import Box

Floats = NDArray[np.float64]

LEFT, RIGHT = 11.0, 1.5
"""How far a row is looked at, left and right of the value, in heights of the writing: labels are
about ten letters."""

NEAR = 5.0
"""How far left of a value, in heights, the ground is surely the menu's own."""

_STEP = 1.5
"""Length of a piece of a row, in heights."""

_REACH = 0.95
"""Above and below a row's middle, in heights: into the gaps between rows."""

_UP, _ACROSS = 15, 14
"""Points of a piece, across the row and along it."""

_DARK, _LIGHT = 20, 80
"""Percentile of a piece that is ground, on a menu of dark and of light ground."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: middle and height of its value (pixels, along and down the writing), its slope
    as the page has it there, and its value's ends along it. ``found``: the value has an outline,
    and ``own_slope`` is that one's; else it is where it should be by its neighbours."""

    x: float
    y: float
    height: float
    slope: float
    left: float
    right: float
    found: bool
    own_slope: float = 0.0


@dataclass(frozen=True, slots=True)
class Frame:
    """The rows of a page; ``along`` and ``down`` are unit vectors in the photograph."""

    along: Floats
    down: Floats
    rows: tuple[Row, ...]

    def spot(self, x: float, y: float) -> tuple[float, float]:
        """A point along and down the writing, in the photograph's pixels."""
        point = x * self.along + y * self.down
        return float(point[0]), float(point[1])


@dataclass(frozen=True, slots=True)
class Light:
    """``ground`` (rows x pieces): luma of the ground, 0..255, NaN outside the picture; ``tint``
    (rows x pieces x 2): its Lab a and b; ``xs`` (rows x pieces): where, along the writing.
    ``usual``: the menu's own ground, and ``usual_tint``; ``dark``: it is darker than the text."""

    ground: Floats
    tint: Floats
    xs: Floats
    usual: float
    usual_tint: Floats
    dark: bool


def rows_of(boxes: Sequence[Box | None]) -> Frame | None:
    """The rows of a page's values, top to bottom; None unless two outlines are known."""
    known = [(index, np.array(box)) for index, box in enumerate(boxes) if box is not None]
    if len(known) < 2:
        return None
    quads = np.array([quad for _, quad in known], dtype=np.float64)
    along = (quads[:, 1] - quads[:, 0] + quads[:, 2] - quads[:, 3]).sum(axis=0)
    length = float(np.linalg.norm(along))
    if length < 1e-6:
        return None
    along = along / length
    down = np.array([-along[1], along[0]])
    if float(((quads[:, 3] - quads[:, 0]) @ down).sum()) < 0:
        return None
    turned = np.stack([quads @ along, quads @ down], axis=2)
    a, b, c, x0, y0 = row_slopes(turned)
    heights = np.linalg.norm(quads[:, 3] - quads[:, 0] + quads[:, 2] - quads[:, 1], axis=1) / 2
    # A lone mark, or a row's strip taken whole, is no measure of the writing.
    heights = np.clip(heights, 0.7 * np.median(heights), 1.4 * np.median(heights))
    middle = turned.mean(axis=1)
    index = np.array([number for number, _ in known], dtype=np.float64)
    pitch = _pitch(index, middle[:, 1], float(np.median(heights)))
    rows = []
    for number in range(len(boxes)):
        at = int(np.searchsorted(index, number))
        found = at < len(index) and index[at] == number
        if found:
            x, y, height = float(middle[at][0]), float(middle[at][1]), float(heights[at])
            left, right = float(turned[at, :, 0].min()), float(turned[at, :, 0].max())
            edge = (turned[at, 1] - turned[at, 0] + turned[at, 2] - turned[at, 3]) / 2
            own = float(edge[1] / max(edge[0], 1e-6))
        else:
            x, height = float(np.median(middle[:, 0])), float(np.median(heights))
            y = _between(index, middle[:, 1], number, pitch)
            left, right, own = x - 2 * height, x + 2 * height, 0.0
        slope = a + b * (x - x0) + c * (y - y0)
        rows.append(Row(x, y, max(height, 1.0), float(slope), left, right, bool(found), own))
    return Frame(along, down, tuple(rows))


def _pitch(index: Floats, y: Floats, height: float) -> float:
    """Distance from row to row; twice the height where the outlines do not tell."""
    steps = np.diff(y) / np.diff(index)
    steps = steps[steps > 0.8 * height]
    return float(np.median(steps)) if steps.size else 2.0 * height


def _between(index: Floats, y: Floats, at: int, pitch: float) -> float:
    """Where row ``at`` should be: between its neighbours, or beyond the last one by its pitch."""
    place = int(np.searchsorted(index, at))
    if place == 0:
        return float(y[0] - (index[0] - at) * pitch)
    if place == len(index):
        return float(y[-1] + (at - index[-1]) * pitch)
    i, j = index[place - 1], index[place]
    return float(y[place - 1] + (at - i) / (j - i) * (y[place] - y[place - 1]))


def light_on(pixels: NDArray[np.uint8], frame: Frame) -> Light:
    """The ground along every row of ``frame`` on the photograph (RGB)."""
    pitch = float(np.median([row.height for row in frame.rows]))
    count = max(2, round((LEFT + RIGHT + 4) / _STEP))
    scale = min(1.0, 12.0 / pitch)
    size = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA) if scale < 1 else pixels
    lab = cv2.cvtColor(np.asarray(small, np.uint8), cv2.COLOR_RGB2LAB).astype(np.float64)
    luma = cv2.cvtColor(np.asarray(small, np.uint8), cv2.COLOR_RGB2GRAY).astype(np.float64)
    pieces, xs = [], np.zeros((len(frame.rows), count))
    for number, row in enumerate(frame.rows):
        edges = np.linspace(row.left - LEFT * row.height, row.right + RIGHT * row.height, count + 1)
        xs[number] = (edges[:-1] + edges[1:]) / 2
        pieces.append([_piece(frame, row, edges[i : i + 2], scale) for i in range(count)])
    inside = [[_pick(luma, points) for points in row] for row in pieces]
    near = [
        (x >= row.left - NEAR * row.height) & (x <= row.right + 0.5 * row.height)
        for x, row in zip(xs, frame.rows, strict=True)
    ]
    dark = _is_dark(inside, near)
    share = _DARK if dark else _LIGHT
    ground = np.array(
        [[np.percentile(one, share) if one.size else np.nan for one in row] for row in inside]
    )
    tint = np.array([[_tint(lab, luma, points, share) for points in row] for row in pieces])
    usual = _usual(ground[np.array(near)], dark)
    like = np.abs(ground - usual) < 12
    known = ~np.isnan(tint).any(axis=2)
    tints = tint[like & known] if (like & known).any() else np.zeros((1, 2)) + 128.0
    return Light(ground, tint, xs, usual, np.median(tints, axis=0), dark)


def _is_dark(inside: Sequence[Sequence[Floats]], near: Sequence[NDArray[np.bool_]]) -> bool:
    """Whether the ground is darker than the writing: what there is more of is ground. Each row
    has one vote, so that glare or a cursor bar on some is outvoted."""
    votes = 0
    for seen, on in zip(inside, near, strict=True):
        known = [one for one, here in zip(seen, on, strict=True) if here and one.size]
        if known:
            every = np.concatenate(known)
            low, high = np.percentile(every, (3, 97))
            votes += 1 if np.median(every) < (low + high) / 2 else -1
    return votes >= 0


def _piece(frame: Frame, row: Row, ends: Floats, scale: float) -> Floats:
    """Points of one piece of a row in the small photograph (n x 2)."""
    across = np.linspace(ends[0], ends[1], _ACROSS)
    up = np.linspace(-_REACH, _REACH, _UP) * row.height
    x, off = np.meshgrid(across, up)
    y = row.y + (x - row.x) * row.slope + off
    points = x[..., None] * frame.along + y[..., None] * frame.down
    return np.asarray((points.reshape(-1, 2) + 0.5) * scale - 0.5)


def _inside(picture: Floats, points: Floats) -> NDArray[np.intp]:
    """The points as whole (x, y) inside the picture."""
    whole = np.round(points).astype(np.intp)
    height, width = picture.shape[:2]
    good = (whole >= 0).all(axis=1) & (whole[:, 0] < width) & (whole[:, 1] < height)
    return np.asarray(whole[good], dtype=np.intp)


def _pick(luma: Floats, points: Floats) -> Floats:
    good = _inside(luma, points)
    if 2 * len(good) < len(points):
        return np.zeros(0)
    return np.asarray(luma[good[:, 1], good[:, 0]])


def _tint(lab: Floats, luma: Floats, points: Floats, share: int) -> Floats:
    """Colour of the ground of one piece: of its pixels near the ground's luma."""
    good = _inside(luma, points)
    if 2 * len(good) < len(points):
        return np.full(2, np.nan)
    seen = luma[good[:, 1], good[:, 0]]
    apart = np.abs(seen - np.percentile(seen, share))
    near = apart <= max(10.0, float(apart.min()))
    return np.asarray(np.median(lab[good[near, 1], good[near, 0], 1:], axis=0))


def _usual(ground: Floats, dark: bool) -> float:
    """The menu's own ground, of pieces that lie on it. Light comes on top of it."""
    known = ground[~np.isnan(ground)]
    if not known.size:
        return 0.0
    if dark:
        return float(np.percentile(known, 25))
    lit = known[known >= 0.6 * np.percentile(known, 90)]
    return float(np.percentile(lit, 50))
