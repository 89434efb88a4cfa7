"""Has a camera moved? A recording against an earlier picture of the same camera.

What a moving vehicle's camera sees changes all the time, but for the vehicle itself: bonnet,
mirrors, pillars. Directions of edges (A. J. Fitch and others, "Orientation correlation", British
Machine Vision Conference, 2002; from memory) are averaged over many pictures: what passes by
averages out, what stays adds up, in any light. Directions are taken modulo 180 degrees, so that
a light edge on dark counts as a dark one on light. The average is correlated with the earlier
picture, turned by each angle in turn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

WIDTH, HEIGHT = 160, 90
PADDED = (128, 256)
"""Rows and columns of what is correlated: shifts of up to 24 % do not wrap around."""
FLOOR = 6.0
"""Steepness (3 x 3 Sobel) below which a pixel has no direction."""
BAND_SHARE = 1 / 9
"""Share of the height, top and bottom, where recorders burn in lines; left out."""
TURNS = np.arange(-12.0, 12.5, 1.0)
"""Angles that are tried [degrees]."""
REACH_X, REACH_Y = 38, 34
"""Longest shifts that are tried [px of WIDTH x HEIGHT]."""
CLEAR, TIMES = 5.2, 1.3
"""The best match stands out by so many standard deviations, and so many times as much as the next
best elsewhere (own choices)."""
APART, ELSEWHERE = 4, 8
"""Matches closer than the first [px] are one; farther than the second they are others."""

Field = NDArray[np.complex64]


@dataclass(frozen=True, slots=True)
class Aim:
    """Against the earlier picture: shift right and down [% of the width], turn clockwise
    [degrees], by how many standard deviations this match stands out, and the next best."""

    right: float
    down: float
    turn: float
    clear: float
    next_clear: float

    @property
    def sure(self) -> bool:
        """Does it stand out from all other matches?"""
        return self.clear >= CLEAR and self.clear >= TIMES * self.next_clear

    @property
    def shift(self) -> float:
        """Length of the shift [% of the width]."""
        return float(np.hypot(self.right, self.down))


def directions(luma: NDArray[np.uint8]) -> Field:
    """Direction of the edge in each pixel, as a unit number of twice its angle; 0: no edge."""
    shrunk = cv2.resize(luma, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA).astype(np.float32)
    small = cv2.GaussianBlur(shrunk, (0, 0), 0.8)
    across = cv2.Sobel(small, cv2.CV_32F, 1, 0, ksize=3)
    down = cv2.Sobel(small, cv2.CV_32F, 0, 1, ksize=3)
    steep = across + 1j * down
    size = np.abs(steep)
    field = np.where(size >= FLOOR, (steep / np.maximum(size, 1e-6)) ** 2, 0)
    band = round(HEIGHT * BAND_SHARE)
    field[:band] = field[HEIGHT - band :] = 0
    return field.astype(np.complex64)


def packed(field: Field) -> NDArray[np.int8]:
    """A field in two bytes a pixel (height x width x 2), to be kept by the hundred."""
    return np.stack([np.round(field.real * 100), np.round(field.imag * 100)], axis=-1).astype(
        np.int8
    )


def staying(fields: Sequence[NDArray[np.int8]]) -> Field:
    """Average of ``packed`` fields, what passes by suppressed."""
    total = np.zeros((HEIGHT, WIDTH, 2), np.float32)
    for field in fields:
        total += field
    mean = (total[..., 0] + 1j * total[..., 1]) / (100 * max(1, len(fields)))
    return np.asarray(mean * np.abs(mean), np.complex64)


def turned_references(luma: NDArray[np.uint8]) -> list[Field]:
    """Transforms of the earlier picture's directions, turned by each of TURNS (clockwise)."""
    small = cv2.resize(luma, (2 * WIDTH, 2 * HEIGHT), interpolation=cv2.INTER_AREA)
    band = round(2 * HEIGHT * BAND_SHARE)
    keep = np.zeros_like(small)
    keep[band : 2 * HEIGHT - band] = 255
    out = []
    for turn in TURNS:
        # OpenCV turns anticlockwise for positive angles.
        way = cv2.getRotationMatrix2D((WIDTH - 0.5, HEIGHT - 0.5), -float(turn), 1.0)
        pixels = cv2.warpAffine(small, way, (2 * WIDTH, 2 * HEIGHT), borderMode=cv2.BORDER_REFLECT)
        valid = cv2.warpAffine(keep, way, (2 * WIDTH, 2 * HEIGHT))
        inner = cv2.resize(cv2.erode(valid, np.ones((5, 5), np.uint8)), (WIDTH, HEIGHT)) > 250
        field = directions(np.asarray(pixels, np.uint8)) * inner
        out.append(np.fft.fft2(field, PADDED).astype(np.complex64))
    return out


def turned_fields(field: Field) -> list[Field]:
    """Transforms of a field turned by each of TURNS (clockwise), directions with it."""
    out = []
    for turn in TURNS:
        way = cv2.getRotationMatrix2D(((WIDTH - 1) / 2, (HEIGHT - 1) / 2), -float(turn), 1.0)
        real, imag = (
            cv2.warpAffine(np.ascontiguousarray(part), way, (WIDTH, HEIGHT))
            for part in (field.real, field.imag)
        )
        turned = (real + 1j * imag) * np.exp(2j * np.radians(turn))
        out.append(np.fft.fft2(turned, PADDED).astype(np.complex64))
    return out


def aim_of(seen: Field, references: Sequence[Field]) -> Aim:
    """The best match of a field with any of the turned references."""
    spectrum = np.fft.fft2(seen, PADDED)
    best: tuple[float, int, int, int] = (-np.inf, 0, 0, 0)
    planes = []
    for number, reference in enumerate(references):
        plane = _near(np.fft.ifft2(spectrum * np.conj(reference)).real)
        at = int(plane.argmax())
        y, x = divmod(at, plane.shape[1])
        planes.append(plane)
        if plane[y, x] > best[0]:
            best = (float(plane[y, x]), number, y, x)
    _, number, y, x = best
    # Turns close by show the same match a little weaker: the mean over all planes is the ground.
    every = np.stack(planes)
    mean, spread = float(every.mean()), max(1e-9, float(every.std()))
    clear = (best[0] - mean) / spread
    rows = slice(max(0, y - ELSEWHERE), y + ELSEWHERE + 1)
    every[:, rows, max(0, x - ELSEWHERE) : x + ELSEWHERE + 1] = mean
    x_part, y_part = _between(planes[number], y, x)
    return Aim(
        100 * (x + x_part - REACH_X) / WIDTH, 100 * (y + y_part - REACH_Y) / WIDTH,
        float(TURNS[number]), clear, (float(every.max()) - mean) / spread,
    )  # fmt: skip


def fits(seen: Field, references: Sequence[Field], aim: Aim) -> float:
    """How well a field matches at ``aim``, and one pixel around it."""
    number = int(np.argmin(np.abs(TURNS - aim.turn)))
    plane = _near(np.fft.ifft2(np.fft.fft2(seen, PADDED) * np.conj(references[number])).real)
    x = round(aim.right * WIDTH / 100) + REACH_X
    y = round(aim.down * WIDTH / 100) + REACH_Y
    part = plane[max(0, y - 1) : y + 2, max(0, x - 1) : x + 2]
    return float((part.max() - plane.mean()) / max(1e-9, float(plane.std())))


def _near(plane: NDArray[np.float64]) -> NDArray[np.float64]:
    """The plane of shifts from -REACH to +REACH, no shift in its middle."""
    rolled = np.roll(plane, (REACH_Y, REACH_X), (0, 1))
    return rolled[: 2 * REACH_Y + 1, : 2 * REACH_X + 1]


def _between(plane: NDArray[np.float64], y: int, x: int) -> tuple[float, float]:
    """Where between the pixels the peak lies: the top of a parabola through three values."""
    parts = []
    for line, at in ((plane[y], x), (plane[:, x], y)):
        if 0 < at < len(line) - 1:
            low, top, high = line[at - 1], line[at], line[at + 1]
            bend = low - 2 * top + high
            parts.append(float(0.5 * (low - high) / bend) if bend < 0 else 0.0)
        else:
            parts.append(0.0)
    return parts[0], parts[1]
