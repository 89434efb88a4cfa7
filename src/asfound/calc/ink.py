"""Is anything written in a strip of a row? Looked for before a value is called blank."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

_HEIGHT = 48
_MIDDLE = slice(10, 38)
"""The middle of the row: rules and cursor frames run along its edges."""

_INNER = slice(4, 44)
_EDGE = 4
_LOW = 28
"""Below this line stand the dots of a leader; marks of a mask stand in the middle or above."""

_APART = 8
"""Columns (a sixth of the height) of ground that set a mark apart from a value."""

_LEAST_MASK = 4
"""Signs from which a row of marks that nobody can read is a mask."""

_LONGEST_MASK = 16
"""Signs; more marks in a row are a leader."""

_VEIL = 0.4
"""Share of what is left to white by which light that lies over the row is above its own ground."""

_WHOLE = 0.85
"""A row of marks over more than this share of the strip is a leader, not a mask."""


def contrast(crop: NDArray[np.uint8]) -> float:
    """Luma contrast of a text crop, 0..255: its 95th less its 5th percentile."""
    luma = cv2.cvtColor(crop, cv2.COLOR_RGB2GRAY)
    low, high = np.percentile(luma, (5, 95))
    return float(high - low)


@dataclass(frozen=True, slots=True)
class Ink:
    """Where ink begins and ends along a strip, as shares of its width, and whether it
    is a row of like pieces at like distances, as a mask of a secret is; ``alike`` is their
    number, 0 when they are not alike."""

    start: float
    end: float
    is_mask: bool
    alike: int = 0


def find_ink(strip: NDArray[np.uint8], text_contrast: float) -> Ink | None:
    """The ink on a strip of a row, RGB; None when there is none.

    Ink differs from the strip's slowly changing ground by more than a quarter of
    ``text_contrast`` (luma, 0..255) and clearly more than its noise. Rules and frames along the
    row, the end of a cursor bar, and a dotted leader are no ink.
    """
    differs = _relief(strip)
    limit = _limit(differs, text_contrast)
    differs[_drawn(differs > limit)] = 0.0
    columns = differs.shape[1]
    differs[:, _leader(differs, limit, text_contrast)] = 0.0
    height_of = differs[_MIDDLE].max(axis=0)
    found = np.flatnonzero(height_of > limit)
    if found.size < 2:
        return None
    runs = _runs(height_of > 0.6 * float(height_of.max()))
    start, end = float(found[0]) / columns, float(found[-1] + 1) / columns
    is_row = _even(runs) and end - start <= _WHOLE and not _stripes(differs > limit, runs)
    alike = len(runs) if is_row else 0
    return Ink(start, end, alike >= _LEAST_MASK, alike)


def inner_part(crop: NDArray[np.uint8]) -> tuple[float, float] | None:
    """Where a value's crop begins and ends without the marks at its ends (a filled arrow, a
    bracket, a lamp), as shares of its width; None when there is no such mark.

    A mark is fatter than the strokes of the value, higher than its signs, or set apart from it
    by more room than there is within.
    """
    ink = _signs(crop)
    runs = _runs(ink.max(axis=0) > 0)
    if len(runs) < 2:
        return None
    shapes = [_shape(ink, run) for run in runs]
    first, last = 0, len(runs)
    if _is_mark(runs, shapes, (first, 1)):
        first = 1
    if last - first > 1 and _is_mark(runs, shapes, (last - 1, -1)):
        last -= 1
    if last - first == len(runs):
        return None
    return _between(runs, (first, last), ink.shape[1])


def _signs(crop: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """1 where something is written on the crop, frames and rules left out."""
    luma = _rows_of(crop)
    differs = np.abs(luma - np.median(luma))
    limit = 0.4 * float(np.percentile(differs, 99))
    differs[_drawn(differs > limit)] = 0.0
    return np.asarray(differs[2:-2] > limit, dtype=np.uint8)


def _between(
    runs: list[NDArray[np.intp]], kept: tuple[int, int], columns: int
) -> tuple[float, float]:
    first, last = kept
    start = (runs[first - 1][-1] + runs[first][0]) / 2 if first else 0.0
    end = (runs[last - 1][-1] + runs[last][0]) / 2 if last < len(runs) else float(columns)
    return float(start) / columns, float(end) / columns


def _shape(ink: NDArray[np.uint8], run: NDArray[np.intp]) -> tuple[float, int, int]:
    """Radius of the largest disc in the run's ink, and its highest and lowest row."""
    rows = np.flatnonzero(ink[:, run].max(axis=1))
    disc = cv2.distanceTransform(np.ascontiguousarray(ink[:, run]), cv2.DIST_L2, 3).max()
    return float(disc), int(rows[0]), int(rows[-1])


def _is_mark(
    runs: list[NDArray[np.intp]],
    shapes: list[tuple[float, int, int]],
    where: tuple[int, int],
) -> bool:
    """``where``: (number of the run at an end, step towards the others)."""
    index, step = where
    others = [i for i in range(len(runs)) if i != index and 0 < i < len(runs) - 1]
    others = others or [index + step]
    ordered = sorted((index, index + step))
    room = int(runs[ordered[1]][0] - runs[ordered[0]][-1])
    if room < _APART or runs[index].size > 0.6 * _HEIGHT:
        return False
    within = [int(b[0] - a[-1]) for a, b in pairwise([runs[i] for i in others])]
    fat, top, bottom = shapes[index]
    fatter = fat > max(1.6 * max(shapes[i][0] for i in others), _HEIGHT / 14)
    # A bracket reaches above and below every sign.
    higher = top < min(shapes[i][1] for i in others) and bottom > max(shapes[i][2] for i in others)
    apart = len(others) > 1 and room > 1.6 * max(*within, _APART)
    return fatter or (higher and len(runs) > 2) or apart


def hidden(strip: NDArray[np.uint8], label: NDArray[np.uint8]) -> bool:
    """True when glare, darkness or noise may hide what stands in the strip.

    ``label`` is the crop of the row's label, which is legible: white ground like the label's
    is the menu's own.
    """
    luma = cv2.cvtColor(strip, cv2.COLOR_RGB2GRAY)
    own = float(np.median(cv2.cvtColor(label, cv2.COLOR_RGB2GRAY)))
    burnt = luma > 245
    # A spot as wide as a sign hides a short value, however long the strip, and so does the veil
    # of light around it.
    spot = _longest(burnt.mean(axis=0) > 0.3) > 0.5 * len(luma)
    veil = _longest(luma.mean(axis=0) > own + _VEIL * (255.0 - own)) > len(luma)
    white = (spot or veil or bool(burnt.mean() > 0.15)) and own < 235
    differs = _relief(strip)
    limit = _limit(differs, 0.0)
    if white or limit > 0.5 * contrast(label):
        return True
    # Signs cut by the strip's edge: the row may run a little higher or lower than thought.
    ink = differs > max(limit, 0.35 * contrast(label))
    ink &= ~_drawn(ink)
    edges = (ink[:_EDGE].any(axis=0), ink[-_EDGE:].any(axis=0))
    return any(len(_runs(np.asarray(edge, dtype=np.bool_))) >= 3 for edge in edges)


def _longest(columns: NDArray[np.bool_]) -> int:
    """How many columns in a row are True."""
    return max(map(len, _runs(columns)), default=0)


def _rows_of(strip: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Luma of the strip, made 48 rows high and a little smoothed."""
    height, width = strip.shape[:2]
    columns = max(8, round(width * _HEIGHT / max(height, 1)))
    small = cv2.resize(strip, (columns, _HEIGHT), interpolation=cv2.INTER_AREA)
    luma = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY).astype(np.float32)
    return np.asarray(cv2.GaussianBlur(luma, (0, 0), 1), dtype=np.float32)


def _relief(strip: NDArray[np.uint8]) -> NDArray[np.float32]:
    """How far each pixel of the strip, 48 rows high, is from the ground along the row."""
    luma = _rows_of(strip)
    level = np.median(luma[_MIDDLE], axis=0)
    reach = max(3, luma.shape[1] // 6)
    padded = np.pad(level, reach, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    return np.asarray(np.abs(luma - np.median(windows, axis=1)[None]), dtype=np.float32)


def _limit(differs: NDArray[np.float32], text_contrast: float) -> float:
    """What counts as ink: a share of the text's contrast, above the noise (1.48 MAD = sigma)."""
    noise = 1.48 * float(np.median(differs[_MIDDLE]))
    return max(0.25 * text_contrast, 8.0, 5.0 * noise)


def _drawn(ink: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Pixels of lines along the row, and of upright edges near an end with all beyond them."""
    flags = ink.astype(np.uint8)
    lines = cv2.morphologyEx(flags, cv2.MORPH_OPEN, np.ones((1, 3 * _HEIGHT // 2), np.uint8))
    drawn = cv2.dilate(lines, np.ones((5, 5), np.uint8)).astype(np.bool_)
    full = np.flatnonzero(ink[_INNER].mean(axis=0) > 0.8)
    columns, near = ink.shape[1], 3 * _HEIGHT // 2
    for edge in full:
        if edge >= columns - near:
            drawn[:, max(0, edge - 3) :] = True
            break
    for edge in full[::-1]:
        if edge < min(near, columns // 4):
            drawn[:, : edge + 4] = True
            break
    return np.asarray(drawn, dtype=np.bool_)


def _leader(differs: NDArray[np.float32], limit: float, text_contrast: float) -> NDArray[np.bool_]:
    """Columns of a dotted leader: many small, even, evenly spaced dots on the base line, from
    the label on. A few dots as bright as the text are rather a mask."""
    inner = differs[_INNER]
    dots, middles = [], []
    for run in _runs(inner.max(axis=0) > 0.6 * limit):
        weight = np.maximum(inner[:, run] - 0.5 * limit, 0.0).sum(axis=1)
        high = int(np.count_nonzero(weight > 0.25 * weight.max()))
        if run.size <= _HEIGHT // 2 and high <= _HEIGHT // 3:
            dots.append(run)
            middles.append(float((weight * np.arange(weight.size)).sum() / weight.sum()))
    columns = np.zeros(differs.shape[1], dtype=np.bool_)
    kept = _unbroken(dots)
    dots, middles = dots[:kept], middles[:kept]
    if len(dots) < 8 or dots[0][0] > 2 * _HEIGHT:
        return columns
    bright = float(np.median([inner[:, run].max() for run in dots])) > 0.6 * text_contrast
    # A long row's strip may drift off its line a little: the dots are judged together.
    low = float(np.median(middles)) + _INNER.start > _LOW
    low = low and not (bright and len(dots) < 16)
    if (low or len(dots) > _LONGEST_MASK) and _evenly_spaced(dots):
        for run in dots:
            columns[max(0, run[0] - 2) : run[-1] + 3] = True
    return columns


def _unbroken(runs: list[NDArray[np.intp]]) -> int:
    """How many runs from the first on follow each other without a wider gap."""
    steps = np.diff([float(run.mean()) for run in runs])
    wide = np.flatnonzero(steps > 1.6 * float(np.median(steps))) if steps.size else steps
    return int(wide[0]) + 1 if wide.size else len(runs)


def _runs(flags: NDArray[np.bool_]) -> list[NDArray[np.intp]]:
    """Stretches of neighbouring True columns."""
    found = np.flatnonzero(flags)
    if not found.size:
        return []
    return np.split(found, np.flatnonzero(np.diff(found) > 1) + 1)


def _evenly_spaced(runs: list[NDArray[np.intp]]) -> bool:
    """Most steps between the runs' middles are the same."""
    steps = np.diff([float(run.mean()) for run in runs])
    usual = float(np.median(steps))
    return bool(np.mean(np.abs(steps - usual) <= 0.25 * usual) >= 0.8)


def _even(runs: list[NDArray[np.intp]]) -> bool:
    """Three runs of columns or more, not too many, alike in width and evenly spaced."""
    if not 3 <= len(runs) <= _LONGEST_MASK:
        return False
    widths = np.array([run.size for run in runs], dtype=float)
    steps = np.diff([float(run.mean()) for run in runs])
    return bool(np.ptp(widths) <= 0.5 * widths.mean() + 1.0 and steps.std() < 0.15 * steps.mean())


def _stripes(ink: NDArray[np.bool_], runs: list[NDArray[np.intp]]) -> bool:
    """Most runs reach from the upper to the lower edge of the row, as no sign does: moiré."""
    through = [bool(ink[:_EDGE, run].any() and ink[-_EDGE:, run].any()) for run in runs]
    return 2 * sum(through) > len(runs)
