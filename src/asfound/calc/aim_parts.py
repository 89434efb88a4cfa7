"""The vehicle's own parts in a camera's view: which edges are theirs, and are they in place?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.aim import (
    BAND,
    CODES,
    HEIGHT,
    SIDE,
    SQUARES,
    WIDTH,
    Aim,
    Field,
    Packed,
    agreeing,
    sums,
)

FEWEST, MOST = 40, 2000
"""Edge pixels that parts must have, and that are looked at."""
LEAST = 0.05
"""Agreement of what stays and of the earlier picture that makes an edge one of the parts."""
FEW_PICTURES = 12
"""Of so few pictures each is judged by parts found in the others: what chance keeps in place in
few pictures would speak for itself."""
SPREAD = 0.06
"""The share of edges in place varies by so much at least, wherever they are (own choice)."""
AROUND = tuple(
    (right, down)
    for down in (-18, -12, 0, 12, 18)
    for right in (-21, -14, -7, 0, 7, 14, 21)
    if abs(right) + abs(down) > 10
)
"""Shifts [px] at which parts are not in place, to tell how well they fit by chance."""
NEAR = tuple((right, down) for down in (-1, 0, 1) for right in (-1, 0, 1))
MARGIN = 24
"""At least the longest of AROUND [px]."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Parts:
    """Edge pixels of the vehicle's parts: columns, rows, directions by weight."""

    x: NDArray[np.intp]
    y: NDArray[np.intp]
    edge: Field

    def moved(self, aim: Aim) -> Parts | None:
        """Where the edges are when the aim has changed by that; None when too few are in view."""
        turn = np.radians(aim.turn)
        x, y = self.x - (WIDTH - 1) / 2, self.y - (HEIGHT - 1) / 2
        right = x * np.cos(turn) - y * np.sin(turn) + (WIDTH - 1) / 2 + aim.right * WIDTH / 100
        down = x * np.sin(turn) + y * np.cos(turn) + (HEIGHT - 1) / 2 + aim.down * WIDTH / 100
        column, row = np.round(right).astype(np.intp), np.round(down).astype(np.intp)
        seen = (column >= SIDE) & (column < WIDTH - SIDE) & (row >= BAND) & (row < HEIGHT - BAND)
        if seen.sum() < FEWEST:
            return None
        turn_twice = np.asarray(np.exp(2j * turn), np.complex64)
        return Parts(column[seen], row[seen], self.edge[seen] * turn_twice)

    def in_place(self, field: Packed) -> tuple[float, float]:
        """Share of the edges that a picture shows in place, less what chance shows of them around
        it; and how much chance varies."""
        wide = np.pad(field, MARGIN)
        weight = np.conj(self.edge) / np.abs(self.edge).sum()
        x, y = self.x + MARGIN, self.y + MARGIN
        shares = np.array(
            [(CODES[wide[y + dy, x + dx]] * weight).real.sum() for dx, dy in (*NEAR, *AROUND)]
        )
        chance = shares[len(NEAR) :]
        return float(shares[: len(NEAR)].max() - chance.mean()), float(chance.std())


def common(stays: Field, earlier: Field) -> Field:
    """What ``stays`` and the ``earlier`` picture, which ``softened`` made tolerant, both show."""
    agreed = np.maximum((stays * np.conj(earlier)).real, 0).astype(np.float32)
    # Single pixels agree by chance; what belongs to an edge has neighbours that agree.
    agreed = np.asarray(cv2.GaussianBlur(agreed, (0, 0), 1.0), np.float32)
    length = np.abs(stays)
    return np.asarray(stays * (np.minimum(agreed, length) / np.maximum(length, 1e-6)), np.complex64)


def softened(field: Field) -> Field:
    """Averages of 3 x 3 pixels: an edge may lie a pixel beside where it was."""
    real, imag = (cv2.blur(np.ascontiguousarray(part), (3, 3)) for part in (field.real, field.imag))
    return np.asarray(real + 1j * imag, np.complex64)


def parts_of(edges: Field) -> Parts | None:
    """The clearest edges of what is ``common``; None when there are too few."""
    strength = np.abs(edges).ravel()
    count = min(MOST, int((strength > LEAST).sum()))
    if count < FEWEST:
        return None
    at = np.argpartition(-strength, count - 1)[:count]
    y, x = np.divmod(at, WIDTH)
    return Parts(x, y, edges.ravel()[at])


def each_in_place(
    fields: Sequence[Packed], chosen: NDArray[np.bool_], earlier: Field
) -> tuple[Field, Floats, Floats] | None:
    """Parts that stay in the ``chosen`` pictures, as a field, and ``in_place`` of every picture:
    shares and spreads. None when too few edges stay."""
    total, squares = sums([field for field, one in zip(fields, chosen, strict=True) if one])
    count = int(chosen.sum())
    edges = common(agreeing(total, squares, count), earlier)
    parts = parts_of(edges)
    if parts is None:
        return None
    shares, spreads = [], []
    for field, one in zip(fields, chosen, strict=True):
        judge: Parts | None = parts
        if one and 2 < count <= FEW_PICTURES:
            others = agreeing(total - CODES[field], squares - SQUARES[field], count - 1)
            judge = parts_of(common(others, earlier))
        share, spread = judge.in_place(field) if judge is not None else (0.0, 1.0)
        shares.append(share)
        spreads.append(spread)
    return edges, np.array(shares), np.maximum(np.array(spreads), SPREAD)
