"""Picture measures on a grid of tiles, and what they show: black, one colour.

A picture is measured in 9 x 16 tiles, so that a burned-in clock or a lamp is told from the rest.
All luma figures are 8-bit code values.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.key_pictures import equal_blocks
from asfound.calc.timelines import Stands, reach, runs
from asfound.sources import (
    BLACK_LUMA_SHARE,
    BLACK_PICTURE_SHARE,
    BLACK_SECONDS,
    FREEZE_DIFFERENCE,
    ONE_COLOUR_AREA,
    ONE_COLOUR_SECONDS,
    ONE_COLOUR_TOLERANCE,
)

ROWS, COLUMNS = 9, 16
TILE = 20
"""Pixels along a tile's side at most: pictures are measured at 320 x 180 or less."""

BAND = np.zeros((ROWS, COLUMNS), dtype=bool)
"""Tiles where recorders burn in clock and names: the two outer rows, top and bottom."""
BAND[[0, 1, -2, -1]] = True

OVERLAY_SHARE = 0.15
"""A burned-in line covers no more of the tiles than this (own choice)."""
NOISE = FREEZE_DIFFERENCE.value * 256
"""Mean change in code values above which a picture is alive (freezedetect's own limit)."""
EVEN = 3.0
"""Tile means of a generated, even picture differ by no more than this (own choice)."""
REMAINS, REMAINS_CHANGE = 3 * EVEN, 1.5
"""... but for remains of the picture before, up to this, which a key picture takes away by changing
no more than that on average [code values]."""
FLAT = 1.5
"""Standard deviation in a tile of a generated picture, coding noise included (own choice)."""
KEYS_BACK = 4
"""Key pictures that a key picture is compared with: coders may switch between qualities."""

APART = 12.0
"""Key pictures that differ more than this [code values] on average are not compared by blocks."""

Grid = NDArray[np.float32]


class Judged(StrEnum):
    """A span is a fault, or it cannot be told."""

    FAULT = "fault"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class Span:
    """From ``start_s`` to ``end_s``: what was measured (worst case) and a line for people."""

    start_s: float
    end_s: float
    judged: Judged
    measured: float
    note: str


@dataclass(frozen=True, slots=True)
class Samples:
    """Measures of n pictures of one stream, in order.

    ``second`` (n), ``key`` (n), ``key_bytes`` (n, 0 = unknown); per tile (n x 9 x 16): ``mean``,
    ``std``, ``black`` (share of pixels at or below the black limit), ``step`` (mean absolute
    difference to the picture before), ``key_step`` (the same to the key picture before; NaN
    where there is none or the picture is no key); ``key_equal`` (n): share of textured blocks
    that equal one of the last KEYS_BACK key pictures (NaN: cannot be said); ``one_colour`` (n):
    share of the area within the tolerance of the picture's middle value. ``dense`` (n): the
    picture before is the sample before or close to it; False: pictures between two key pictures
    were not decoded. ``holds`` (n): the sample stands for the time to the next one, because that
    follows closely or because sizes in the file are those of pictures that repeat it;
    ``lead_s``, ``trail_s`` (n): where pictures around it were not decoded, seconds before and
    after it in which sizes are such. ``end_s``: when the last one ends.
    """

    second: NDArray[np.float64]
    key: NDArray[np.bool_]
    key_bytes: NDArray[np.int64]
    mean: NDArray[np.float16]
    std: NDArray[np.float16]
    black: NDArray[np.float16]
    step: NDArray[np.float16]
    key_step: NDArray[np.float16]
    key_equal: NDArray[np.float64]
    one_colour: NDArray[np.float64]
    dense: NDArray[np.bool_]
    holds: NDArray[np.bool_]
    lead_s: NDArray[np.float64]
    trail_s: NDArray[np.float64]
    end_s: float

    @property
    def stands(self) -> Stands:
        """What each picture stands for."""
        return Stands(self.holds, self.lead_s, self.trail_s)


def grid_size(width: int, height: int) -> tuple[int, int]:
    """Width and height of the measuring picture: whole tiles, never larger than the source.

    Sources below 16 x 9 pixels get one pixel a tile.
    """
    return (
        COLUMNS * min(TILE, max(1, width // COLUMNS)),
        ROWS * min(TILE, max(1, height // ROWS)),
    )


def black_limit(limited: bool) -> int:
    """Highest luma that counts as black: 37 in limited range, 25 in full range.

    FFmpeg's blackdetect: floor(offset + 0.10 x range) with offset 16, range 219, or 0 and 255.
    """
    offset, span = (16, 219) if limited else (0, 255)
    return int(offset + BLACK_LUMA_SHARE.value * span)


def _tile_means(values: NDArray[np.uint8] | NDArray[np.float32]) -> Grid:
    """Mean of each tile; the picture's sides are whole tiles."""
    # An area average to one pixel a tile; 8-bit input would be rounded.
    floats = values.astype(np.float32)
    return np.asarray(cv2.resize(floats, (COLUMNS, ROWS), interpolation=cv2.INTER_AREA), np.float32)


def difference(luma: NDArray[np.uint8], other: NDArray[np.uint8]) -> Grid:
    """Mean absolute difference of two pictures, a tile [code values]. Shapes must agree."""
    return _tile_means(np.asarray(cv2.absdiff(luma, other), np.uint8))


def one_colour_share(luma: NDArray[np.uint8], chroma: NDArray[np.uint8] | None) -> float:
    """Share of the area within the tolerance of the middle luma; 0 when the hue is not one."""
    tolerance = ONE_COLOUR_TOLERANCE.value * 219
    counts = cv2.calcHist([luma], [0], None, [256], [0, 256]).ravel()
    middle = int(np.searchsorted(np.cumsum(counts, dtype=np.float64), luma.size / 2))
    low, high = max(0, int(np.ceil(middle - tolerance))), int(middle + tolerance)
    share = float(counts[low : high + 1].sum() / luma.size)
    if share >= ONE_COLOUR_AREA.value and chroma is not None:
        hue = np.median(chroma.reshape(-1, 2).astype(np.float32), axis=0)
        near = (np.abs(chroma.astype(np.float32) - hue) <= tolerance).all(axis=-1).mean()
        if near < ONE_COLOUR_AREA.value:
            return 0.0
    return share


@dataclass(frozen=True, slots=True)
class KeyPicture:
    """A picture coded without reference to others: bytes in the file, luma at full size."""

    size_bytes: int
    full: NDArray[np.uint8]


class Sampler:
    """Takes pictures one by one and keeps their measures only."""

    def __init__(self) -> None:
        self._rows: list[tuple[float, bool, int, float, float]] = []
        self._grids: list[NDArray[np.float16]] = []
        self._last: NDArray[np.uint8] | None = None
        self._last_key: NDArray[np.uint8] | None = None
        self._keys: deque[tuple[NDArray[np.uint8], NDArray[np.uint8]]] = deque(maxlen=KEYS_BACK)

    def add(
        self,
        second: float,
        luma: NDArray[np.uint8],
        chroma: NDArray[np.uint8] | None,
        limited: bool,
        key: KeyPicture | None = None,
    ) -> None:
        """Measure a picture; ``luma`` is of measuring size, ``key`` given for key pictures."""
        nothing = np.full((ROWS, COLUMNS), np.nan, dtype=np.float32)
        step, key_step, equal = nothing, nothing, float("nan")
        if self._last is not None and self._last.shape == luma.shape:
            step = difference(luma, self._last)
        if key is not None:
            if self._last_key is not None and self._last_key.shape == luma.shape:
                key_step = difference(luma, self._last_key)
            equal = self._equal(key.full, luma)
            self._last_key = luma
            self._keys.append((luma, key.full))
        self._last = luma
        mean = _tile_means(luma)
        floats = luma.astype(np.float32)
        variance = _tile_means(floats * floats) - mean * mean
        black = _tile_means((luma <= black_limit(limited)).astype(np.uint8))
        grids = (mean, np.sqrt(np.maximum(variance, 0)), black, step, key_step)
        self._grids.append(np.stack(grids).astype(np.float16))
        share = one_colour_share(luma, chroma)
        size = key.size_bytes if key is not None else 0
        self._rows.append((second, key is not None, size, share, equal))

    def _equal(self, full: NDArray[np.uint8], luma: NDArray[np.uint8]) -> float:
        """Equal blocks with the last key pictures; other scenes have none (0), to save time."""
        near = [
            other
            for small, other in self._keys
            if small.shape == luma.shape and float(cv2.absdiff(small, luma).mean()) <= APART
        ]
        if self._keys and not near:
            return 0.0
        return equal_blocks(full, near)

    def samples(self, end_s: float, latest: int | None = None) -> Samples:
        """Everything measured so far, or the ``latest`` pictures; all of it dense."""
        empty = np.zeros((0, 5, ROWS, COLUMNS), np.float16)
        part = slice(None) if latest is None else slice(max(0, len(self._rows) - latest), None)
        grids = np.stack(self._grids[part]) if self._grids[part] else empty
        rows = self._rows[part]
        return Samples(
            second=np.array([row[0] for row in rows], np.float64),
            key=np.array([row[1] for row in rows], np.bool_),
            key_bytes=np.array([row[2] for row in rows], np.int64),
            mean=grids[:, 0],
            std=grids[:, 1],
            black=grids[:, 2],
            step=grids[:, 3],
            key_step=grids[:, 4],
            key_equal=np.array([row[4] for row in rows], np.float64),
            one_colour=np.array([row[3] for row in rows], np.float64),
            dense=np.ones(len(rows), np.bool_),
            holds=np.ones(len(rows), np.bool_),
            lead_s=np.zeros(len(rows)),
            trail_s=np.zeros(len(rows)),
            end_s=end_s,
        )


def _black(
    samples: Samples,
) -> tuple[NDArray[np.bool_], NDArray[np.float32], NDArray[np.bool_]]:
    """Which pictures are black and even, the black share of each, and its tiles that count."""
    black = samples.black.astype(np.float32)
    text = BAND & (black < 0.999)
    few = text.mean(axis=(1, 2)) <= OVERLAY_SHARE
    inside = ~(text & few[:, None, None])
    shares = np.where(inside, black, 0).sum(axis=(1, 2)) / inside.sum(axis=(1, 2))
    spread = _spread(samples.mean, inside)
    black_enough = shares >= BLACK_PICTURE_SHARE.value
    dark = _joined(black_enough & (spread <= EVEN), black_enough & (spread <= REMAINS), samples)
    return dark, shares, inside


def _joined(
    sure: NDArray[np.bool_], nearly: NDArray[np.bool_], samples: Samples
) -> NDArray[np.bool_]:
    """``sure``, and what is ``nearly`` so beside it between key pictures: there a coarse coder
    leaves remains of what was shown before."""
    out = sure.copy()
    soft = nearly & ~samples.key & samples.dense
    if not (soft & ~sure).any():
        return out
    alike = samples.step.astype(np.float32).mean(axis=(1, 2)) <= REMAINS_CHANGE
    for at in range(1, len(out)):
        out[at] |= soft[at] & out[at - 1] & alike[at]
    for at in range(len(out) - 2, -1, -1):
        out[at] |= soft[at] & out[at + 1] & alike[at + 1] & samples.dense[at + 1]
    return out


def _one_colour(samples: Samples) -> NDArray[np.bool_]:
    """Which pictures are one even, flat colour."""
    tiles = samples.std.astype(np.float32) <= FLAT
    flat = tiles.mean(axis=(1, 2)) >= 1 - 2 * OVERLAY_SHARE
    flat &= _spread(samples.mean, tiles) <= EVEN
    return np.asarray(flat & (samples.one_colour >= ONE_COLOUR_AREA.value), np.bool_)


def empty_pictures(samples: Samples) -> NDArray[np.int8]:
    """Of each picture by itself: 1 where it is black, 2 where it is one colour, else 0."""
    black = _black(samples)[0]
    return np.where(black, 1, np.where(_one_colour(samples), 2, 0)).astype(np.int8)


def black_spans(samples: Samples) -> tuple[Span, ...]:
    """Where the picture is black for BLACK_SECONDS or longer.

    Black by FFmpeg's blackdetect, with burned-in lines in the outer rows left out, and nothing
    of a scene in it: a dark road with lamps or texture is a dark road. Even darkness with
    sensor noise cannot be told from a covered camera or a very dark place: unclear.
    """
    found = []
    times = samples.second
    dark, shares, inside = _black(samples)
    if not len(times):
        return ()
    begins, ends = reach(times, samples.end_s, samples.stands)
    for first, last in runs(times, dark, BLACK_SECONDS.value, samples.end_s, samples.stands):
        part = slice(first, last + 1)
        keep = np.asarray(inside[part].all(axis=0), np.bool_)
        judged = _even(samples, part, keep)
        if judged is None:
            continue
        note = (
            "the picture is black"
            if judged is Judged.FAULT
            else "dark, nothing to see but sensor noise: covered, or a very dark place"
        )
        found.append(
            Span(float(begins[first]), float(ends[last]), judged, float(shares[part].min()), note)
        )
    return tuple(found)


def one_colour_spans(samples: Samples, other: Sequence[Span] = ()) -> tuple[Span, ...]:
    """Where a single colour fills the picture as no camera can: even, flat and without noise.

    Area and tolerance as EBU QC 0016B. The same with sensor noise (fog, glare, a cover) is
    unclear. Spans in ``other`` (black) are left out.
    """
    times = samples.second
    if not len(times):
        return ()
    begins, ends = reach(times, samples.end_s, samples.stands)
    alike = _one_colour(samples)
    for span in other:
        alike &= ~((times >= span.start_s) & (times < span.end_s))
    found = []
    for first, last in runs(times, alike, ONE_COLOUR_SECONDS.value, samples.end_s, samples.stands):
        part = slice(first, last + 1)
        keep = np.median(samples.std[part].astype(np.float32), axis=0) <= FLAT
        judged = _even(samples, part, keep)
        if judged is None:
            continue
        note = (
            "one colour instead of a picture: no camera signal"
            if judged is Judged.FAULT
            else "one colour with sensor noise: fog, glare, or something before the lens"
        )
        share = float(samples.one_colour[part].min())
        found.append(Span(float(begins[first]), float(ends[last]), judged, share, note))
    return tuple(found)


def _spread(mean: NDArray[np.float16], tiles: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Largest less smallest mean over ``tiles`` of each picture; infinite without any."""
    values = mean.astype(np.float32)
    top = np.where(tiles, values, -np.inf).max(axis=(1, 2), initial=-np.inf)
    bottom = np.where(tiles, values, np.inf).min(axis=(1, 2), initial=np.inf)
    return np.where(np.isfinite(top), top - bottom, np.inf).astype(np.float32)


def _even(samples: Samples, part: slice, keep: NDArray[np.bool_]) -> Judged | None:
    """FAULT: even, flat and without noise; UNCLEAR: even with noise; None: a scene."""
    if not keep.any():
        return None
    rows = np.asarray(samples.mean[part], np.float32)
    # Remains of the picture before are left out, where there is more than remains.
    clean = _spread(samples.mean[part], np.broadcast_to(keep, rows.shape)) <= EVEN
    rows = rows[clean] if clean.any() else rows
    means = np.median(rows, axis=0)[keep]
    spread = float(means.max() - means.min())
    # Lamps that pass and vehicles that move show in single tiles, at single moments.
    swing = rows[:, keep]
    passing = float(np.abs(swing - np.median(swing, axis=0)).max())
    if spread > EVEN or passing > 2 * EVEN:
        return None
    steps = samples.step[part][1:].astype(np.float32)[:, keep]
    noise = float(np.nanmedian(steps)) if np.isfinite(steps).any() else 0.0
    # The first key picture is left out: the one before it may lie outside the span.
    key_steps = samples.key_step[part][samples.key[part]][1:].astype(np.float32)[:, keep]
    if np.isfinite(key_steps).any():
        noise = max(noise, float(np.nanmedian(key_steps)))
    return Judged.FAULT if noise <= NOISE else Judged.UNCLEAR
