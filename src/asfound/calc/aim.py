"""Has a camera moved? A recording against an earlier picture of the same camera.

What a moving vehicle's camera sees changes all the time, but for the vehicle itself: bonnet,
mirrors, pillars. Directions of edges (A. J. Fitch and others, "Orientation correlation", British
Machine Vision Conference, 2002; from memory) are held against each other over many pictures: what
passes disagrees, what stays agrees, in any light. Directions are taken modulo 180 degrees, so that
a light edge on dark counts as a dark one on light. What stays is correlated with the earlier
picture, turned by each angle in turn. Both spectra are flattened half way to phase correlation
(C. D. Kuglin and D. C. Hines, IEEE Conference on Cybernetics and Society, 1975; from memory):
without that, two scenes full of level and upright edges match at any shift.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

WIDTH, HEIGHT = 320, 180
PADDED = (240, 400)
"""Rows and columns of what is correlated: shifts up to REACH do not wrap around."""
FAINT, FULL = 2.0, 8.0
"""Steepness (3 x 3 Sobel) up to which a pixel has no direction, and from which it counts full."""
BAND_SHARE = 1 / 9
"""Share of the height, top and bottom, where recorders burn in lines; left out."""
BAND = round(HEIGHT * BAND_SHARE)
SIDE = 2
"""Columns at both sides in which there is no telling how steep it is across; left out."""
TURNS = np.arange(-12.0, 12.5, 1.0)
"""Angles that are tried [degrees]."""
REACH_X, REACH_Y = 76, 68
"""Longest shifts that are tried [px of WIDTH x HEIGHT]."""
ELSEWHERE = 16
"""Matches farther apart than this are others [px]."""
AGREED = 0.3
"""Agreement of directions (1: always the same) up to which an edge does not stay: directions
at random agree by 0 on average (own choice)."""
ANGLES, STEPS = 32, 7

Field = NDArray[np.complex64]
Packed = NDArray[np.uint8]
Value = TypeVar("Value", np.uint8, np.complex64)


def _codes() -> Field:
    code = np.arange(256)
    angle = 2 * np.pi * (code % ANGLES) / ANGLES
    return np.asarray(code // ANGLES / STEPS * np.exp(1j * angle), np.complex64)


CODES: Field = _codes()
"""What each byte of a packed field stands for."""
SQUARES = np.asarray(np.abs(CODES) ** 2, np.float32)


@dataclass(frozen=True, slots=True)
class Aim:
    """Against the earlier picture: shift right and down [% of the width], turn clockwise about
    the middle of the picture [degrees]."""

    right: float
    down: float
    turn: float

    @property
    def shift(self) -> float:
        """Length of the shift [% of the width]."""
        return float(np.hypot(self.right, self.down))

    def then(self, more: Aim) -> Aim:
        """One after the other."""
        turn = np.radians(more.turn)
        right = self.right * np.cos(turn) - self.down * np.sin(turn) + more.right
        down = self.right * np.sin(turn) + self.down * np.cos(turn) + more.down
        return Aim(float(right), float(down), self.turn + more.turn)

    def near(self, other: Aim, shift: float, turn: float) -> bool:
        """Are the two less than ``shift`` [% of the width] and ``turn`` [degrees] apart?"""
        apart = np.hypot(self.right - other.right, self.down - other.down)
        return bool(apart < shift and abs(self.turn - other.turn) < turn)


SAME = Aim(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Match:
    """Where two fields match best, by how many standard deviations that stands out from all
    other places, and how much the next best elsewhere does."""

    aim: Aim
    clear: float
    next_clear: float

    @property
    def times(self) -> float:
        """How many times as much it stands out as the next best."""
        return self.clear / max(self.next_clear, 1e-6)


def directions(luma: NDArray[np.uint8]) -> Field:
    """Direction of the edge in each pixel, as a number of twice its angle; its length says how
    much of an edge there is (0 to 1). ``luma`` of any size gives HEIGHT x WIDTH."""
    across, down = _slopes(luma)
    steep = across + 1j * down
    length = np.abs(steep)
    field = (steep / np.maximum(length, 1e-6)) ** 2 * np.clip(
        (length - FAINT) / (FULL - FAINT), 0, 1
    )
    return _framed(np.asarray(field, np.complex64))


def packed_directions(luma: NDArray[np.uint8]) -> Packed:
    """``packed`` ``directions``, several times faster: for every picture of a recording."""
    across, down = _slopes(luma)
    length, angle = cv2.cartToPolar(across, down)
    # Twice the angle in ANGLES to the turn; adding a half and cutting off rounds.
    turn = (angle * (2 * ANGLES / (2 * np.pi)) + 0.5).astype(np.uint8) % ANGLES
    steps = np.clip((length - FAINT) * (STEPS / (FULL - FAINT)) + 0.5, 0, STEPS).astype(np.uint8)
    return _framed(np.asarray(steps * ANGLES + turn, np.uint8))


def _slopes(luma: NDArray[np.uint8]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """How steep the picture is across and down (3 x 3 Sobel), single pixels smoothed."""
    right_size = luma.shape == (HEIGHT, WIDTH)
    shrunk = luma if right_size else cv2.resize(luma, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(shrunk.astype(np.float32), (0, 0), 0.8)
    across = cv2.Sobel(small, cv2.CV_32F, 1, 0, ksize=3)
    down = cv2.Sobel(small, cv2.CV_32F, 0, 1, ksize=3)
    return np.asarray(across, np.float32), np.asarray(down, np.float32)


def _framed(values: NDArray[Value]) -> NDArray[Value]:
    """Nothing where lines are burned in, and at both sides."""
    values[:BAND] = values[HEIGHT - BAND :] = 0
    values[:, :SIDE] = values[:, WIDTH - SIDE :] = 0
    return values


def packed(field: Field) -> Packed:
    """A field in a byte a pixel (height x width), to be kept by the hundred."""
    angle = np.round(np.angle(field) * (ANGLES / (2 * np.pi))).astype(np.int16) % ANGLES
    steps = np.round(np.abs(field) * STEPS).astype(np.int16)
    return np.asarray(steps * ANGLES + angle, np.uint8)


def sums(fields: Sequence[Packed]) -> tuple[Field, NDArray[np.float32]]:
    """Sum of ``packed`` fields, and of their squared lengths."""
    total = np.zeros((HEIGHT, WIDTH), np.complex64)
    squares = np.zeros((HEIGHT, WIDTH), np.float32)
    for field in fields:
        total += CODES[field]
        squares += SQUARES[field]
    return total, squares


def agreeing(total: Field, squares: NDArray[np.float32], count: int) -> Field:
    """What stays in ``count`` fields with these ``sums``: directions on which any two of them
    agree, by how much they do."""
    if count < 2:
        return total
    length = np.abs(total)
    agreed = (length**2 - squares) / (count * (count - 1))
    kept = np.maximum(agreed - AGREED, 0) / np.maximum(length, 1e-6)
    return np.asarray(total * kept, np.complex64)


def staying(fields: Sequence[Packed]) -> Field:
    """What stays in ``packed`` fields."""
    return agreeing(*sums(fields), len(fields))


def turned(field: Field, aim: Aim) -> Field:
    """The field as a camera sees it whose aim has changed by ``aim``."""
    way = cv2.getRotationMatrix2D(((WIDTH - 1) / 2, (HEIGHT - 1) / 2), -aim.turn, 1.0)
    way[0, 2] += aim.right * WIDTH / 100
    way[1, 2] += aim.down * WIDTH / 100
    real, imag = (
        cv2.warpAffine(np.ascontiguousarray(part), way, (WIDTH, HEIGHT))
        for part in (field.real, field.imag)
    )
    return np.asarray((real + 1j * imag) * np.exp(2j * np.radians(aim.turn)), np.complex64)


def spectra(field: Field) -> list[Field]:
    """Flattened spectra of the field turned by each of TURNS (clockwise), conjugate."""
    turns = [turned(field, Aim(0.0, 0.0, float(turn))) for turn in TURNS]
    return [np.conj(_flattened(one)) for one in turns]


def matches(seen: Field, others: Sequence[Field]) -> NDArray[np.float32]:
    """How well a field matches each of ``spectra`` at each shift from -REACH to +REACH (turns x
    rows x columns), in standard deviations from the mean."""
    spectrum = _flattened(seen)
    shape = (len(others), 2 * REACH_Y + 1, 2 * REACH_X + 1)
    out = np.empty(shape, np.float32)
    for plane, other in zip(out, others, strict=True):
        product = (spectrum * other).view(np.float32).reshape(*PADDED, 2)
        whole = cv2.dft(product, flags=cv2.DFT_INVERSE)[..., 0]
        plane[REACH_Y:, REACH_X:] = whole[: REACH_Y + 1, : REACH_X + 1]
        plane[:REACH_Y, REACH_X:] = whole[-REACH_Y:, : REACH_X + 1]
        plane[REACH_Y:, :REACH_X] = whole[: REACH_Y + 1, -REACH_X:]
        plane[:REACH_Y, :REACH_X] = whole[-REACH_Y:, -REACH_X:]
    out -= out.mean()
    out /= max(1e-9, float(out.std()))
    return out


def best_match(planes: NDArray[np.float32]) -> Match:
    """The best of ``matches``. Turns close by show it a little weaker: the next best is one at
    another shift."""
    turn, y, x = np.unravel_index(int(planes.argmax()), planes.shape)
    return _match(planes, (int(turn), int(y), int(x)))


def match_at(planes: NDArray[np.float32], aim: Aim) -> Match:
    """That of ``matches`` at an aim or a pixel or a turn beside it, against all others."""
    turn = int(np.argmin(np.abs(TURNS - aim.turn)))
    y = round(aim.down * WIDTH / 100) + REACH_Y
    x = round(aim.right * WIDTH / 100) + REACH_X
    corner = [max(0, at - 1) for at in (turn, y, x)]
    near = planes[corner[0] : turn + 2, corner[1] : y + 2, corner[2] : x + 2]
    found = np.unravel_index(int(near.argmax()), near.shape)
    return _match(
        planes, (corner[0] + int(found[0]), corner[1] + int(found[1]), corner[2] + int(found[2]))
    )


def _match(planes: NDArray[np.float32], at: tuple[int, int, int]) -> Match:
    turn, y, x = at
    clear = float(planes[turn, y, x])
    rows = (slice(0, max(0, y - ELSEWHERE)), slice(y + ELSEWHERE + 1, None))
    columns = (slice(0, max(0, x - ELSEWHERE)), slice(x + ELSEWHERE + 1, None))
    others = [planes[:, part] for part in rows] + [planes[:, :, part] for part in columns]
    next_clear = max(float(part.max()) for part in others if part.size)
    right, down = 100 * (x - REACH_X) / WIDTH, 100 * (y - REACH_Y) / WIDTH
    return Match(Aim(right, down, float(TURNS[turn])), clear, next_clear)


def _flattened(field: Field) -> Field:
    wide = np.zeros(PADDED, np.complex64)
    wide[:HEIGHT, :WIDTH] = field
    pairs = wide.view(np.float32).reshape(*PADDED, 2)
    spectrum = np.ascontiguousarray(cv2.dft(pairs)).view(np.complex64)[..., 0]
    return np.asarray(spectrum / np.maximum(np.sqrt(np.abs(spectrum)), 1e-6), np.complex64)
