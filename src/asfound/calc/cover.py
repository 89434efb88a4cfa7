"""What lies on the lens: where a picture has lost its detail and stays the same, the rest living.

What is closer than the lens can focus has no detail and hardly changes. Sky and the vehicle's own
parts look like that, too: only what has changed within a recording is called covered, and a
picture without any detail at all. Limits are own choices, held by tests.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.shrink import block_max, scaled

ROWS, COLUMNS = 18, 32
BANDS = 2
"""Rows of tiles, top and bottom, where recorders burn in lines; left out."""
DETAIL = 4.0
"""Code values by which the sharpest place of a tile with detail stands out from around it."""
WIDE = 2.0
"""Standard deviation [px of a picture 320 wide] of what counts as around it."""
WHOLE_DETAIL, DARK_DETAIL = 0.03, 0.004
"""A picture with detail in no more of its tiles shows nothing; the second where it is dark."""
LIT, WHITE = 40.0, 215.0
"""Mean luma between which a picture without detail is covered, not dark and not glare."""
DAYLIGHT = 55.0
"""Mean luma of a picture that cannot turn wholly dark from one to the next by itself."""
BEFORE, AFTER, FEWEST = 4, 3, 2
"""Pictures looked at before and after a change, and how many there must be."""
LEFT = 0.35
"""Share of its sharpness that a tile keeps at most when it is covered: a cover has soft edges."""
SOFT = 1.5
"""So many times DETAIL is let pass where luma falls by SHIFT or more, for the same reason."""
SHIFT = 25.0
"""Code values by which tiles without detail change when something covers them."""
STEADY = 8.0
"""Code values by which covered tiles change from then on."""
BRIGHTEST_COVER = 150.0
"""What is brighter may be sky."""
REST, LIVING = 20.0, 0.35
"""Code values by which the rest of the picture grows lighter or darker as a whole at most, or the
share of it that stays as steady as the cover at most: a tunnel darkens all and leaves it dark."""
STILL_SHOWN = 0.5
"""Share of the rest's tiles with detail that must keep it (own choice)."""
OTHER = 10.0
"""Code values by which half of the covered tiles at least grow darker or lighter (own choice)."""
STOPPED = 0.4
"""Share of the rest that may become steady as the cover comes, at most (own choice)."""
CAME = 0.5
"""Tiles in which detail appears, at most, as a share of those that lose it (own choice)."""
ALIKE, APART = 0.3, 0.15
"""Share of what lies around a cover that may be as light as it: what is bare and looks like its
surroundings is sky; the second: what appears elsewhere does not matter then (own choices)."""
STRAY = 0.5
"""Tiles elsewhere that went bare, at most, as a share of those of the cover (own choice)."""
PLAIN_OTHER, PLAIN_LIVING, PLAIN_STRAY = 35.0, 0.25, 1.4
"""A cover that is APART, has changed by so many code values, and before which more lives, may
have more of them: a scene that passes loses detail here and gains some there (own choices)."""
HELD, BRIDGED = 0.75, 2
"""Share of the covered tiles that must stay so for the cover to last; for so many pictures in a
row they need only stay bare."""

Tiles = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Detail:
    """Of one picture, bands left out (14 x 32 each): mean luma, and by how many code values the
    sharpest place stands out from around it."""

    mean: NDArray[np.float16]
    peak: NDArray[np.float16]

    @property
    def share(self) -> float:
        """Share of tiles with detail."""
        return float((self.peak >= DETAIL).mean())

    @property
    def level(self) -> float:
        """Mean luma."""
        return float(self.mean.astype(np.float32).mean())


@dataclass(frozen=True, slots=True)
class Cover:
    """Pictures ``first`` to ``last`` are covered on ``area`` (share of the tiles)."""

    first: int
    last: int
    area: float


def detail_of(luma: NDArray[np.uint8]) -> Detail | None:
    """Detail of a picture (height x width, any size); None for one of less than 2 px a tile."""
    if luma.shape[0] < 2 * ROWS or luma.shape[1] < 2 * COLUMNS:
        return None
    small = scaled(luma, 320)
    side = max(2, small.shape[1] // COLUMNS), max(2, small.shape[0] // ROWS)
    floats = cv2.resize(small, (side[0] * COLUMNS, side[1] * ROWS), interpolation=cv2.INTER_AREA)
    floats = cv2.GaussianBlur(floats.astype(np.float32), (0, 0), 0.7)
    around = cv2.GaussianBlur(floats, (0, 0), WIDE * small.shape[1] / 320)
    out = np.asarray(cv2.absdiff(floats, around), np.float32)
    peak = block_max(out, side[1], side[0])
    mean = cv2.resize(floats, (COLUMNS, ROWS), interpolation=cv2.INTER_AREA)
    inner = slice(BANDS, ROWS - BANDS)
    return Detail(mean[inner].astype(np.float16), peak[inner].astype(np.float16))


def nothing_seen(pictures: list[Detail]) -> NDArray[np.bool_]:
    """Which pictures (n) show nothing but what is light enough not to be darkness, or are dark
    right after daylight."""
    bare = np.array([one.share <= WHOLE_DETAIL for one in pictures], np.bool_)
    level = np.array([one.level for one in pictures])
    out = bare & (level >= LIT) & (level <= WHITE)
    for at in range(1, len(pictures)):
        dark = pictures[at].share <= DARK_DETAIL and level[at] < LIT
        if dark and (out[at - 1] or (not bare[at - 1] and level[at - 1] >= DAYLIGHT)):
            out[at] = True
    return np.asarray(out, np.bool_)


def covers(pictures: list[Detail], least: float) -> tuple[Cover, ...]:
    """Where part of the picture (``least`` of its area or more) was covered or uncovered."""
    if not pictures:
        return ()
    mean = np.stack([one.mean for one in pictures]).astype(np.float32)
    peak = np.stack([one.peak for one in pictures]).astype(np.float32)
    found = list(_onsets(mean, peak, least))
    last = len(pictures) - 1
    taken = {at for one in found for at in range(one.first, one.last + 1)}
    for one in _onsets(mean[::-1], peak[::-1], least):
        turned = Cover(last - one.last, last - one.first, one.area)
        # What comes off was on from the start, or its onset was found already.
        if not taken & set(range(turned.first, turned.last + 1)):
            found.append(turned)
    return tuple(found)


def _onsets(mean: Tiles, peak: Tiles, least: float) -> Iterator[Cover]:
    count, at = len(mean), FEWEST
    while at <= count - FEWEST:
        mask, limit = _covered(mean, peak, at, least)
        if mask.mean() < least:
            at += 1
            continue
        # The next picture may show the change more fully: the first one may be half way.
        later = _covered(mean, peak, at + 1, least)[0] if at + 1 <= count - FEWEST else mask
        if later.mean() > 1.3 * mask.mean():
            at += 1
            continue
        end = _lasts(mean, peak <= limit, mask, at)
        if end - at + 1 > FEWEST:
            yield Cover(at, end, float(mask.mean()))
            at = end + 1
        else:
            at += 1


def _covered(mean: Tiles, peak: Tiles, at: int, least: float) -> tuple[NDArray[np.bool_], Tiles]:
    """Tiles that lost their detail between picture ``at`` - 1 and ``at``; none when the scene may
    have done so, or when they are less than the share ``least`` of it. And the sharpness up to
    which each tile counts as without."""
    before, after = slice(max(0, at - BEFORE), at), slice(at, at + AFTER)
    sharp = _median(peak[before])
    past = _median(mean[before])
    level = _median(mean[after])
    steady = np.abs(mean[after] - level).max(axis=0) <= STEADY
    shifted = level < past - SHIFT
    limit = np.maximum(np.where(shifted, SOFT * DETAIL, DETAIL), LEFT * sharp)
    bare = peak[after].max(axis=0) <= limit
    # What was dark before may have been so for any reason.
    lost = ((sharp >= DETAIL) | shifted) & (past >= LIT) & bare
    mask = lost & steady & (level <= BRIGHTEST_COVER)
    none = np.zeros_like(mask)
    if mask.mean() < least:
        return none, limit
    mask = _grouped(mask)
    if mask.mean() < least:
        return none, limit
    now = _median(peak[after])
    shown = now >= DETAIL
    # A tunnel takes most of the detail from all of the picture.
    if shown[~mask].sum() < STILL_SHOWN * (sharp >= DETAIL)[~mask].sum():
        return none, limit
    came = float(_grouped((sharp < DETAIL) & shown).sum() / mask.sum())
    stood = np.abs(mean[before] - past).max(axis=0) <= STEADY
    change = _Change(mask, level, past, stood, steady, lost, came)
    return (mask if change.is_cover() else none), limit


@dataclass(frozen=True, slots=True)
class _Change:
    """Tiles ``mask`` that lost their detail: ``level`` of all tiles now and in the ``past``, which
    ``stood`` then and are ``steady`` now, which have ``lost`` their detail, and what ``came``
    elsewhere, as a share."""

    mask: NDArray[np.bool_]
    level: Tiles
    past: Tiles
    stood: NDArray[np.bool_]
    steady: NDArray[np.bool_]
    lost: NDArray[np.bool_]
    came: float

    def is_cover(self) -> bool:
        """Does something lie on the lens, or has the scene moved on?"""
        kernel = np.ones((3, 3), np.uint8)
        # Tiles beside the mask hold the rim of what covers.
        wide = cv2.dilate(self.mask.astype(np.uint8), kernel)
        rest = wide == 0
        if not rest.any():
            return False
        moved = self.level - self.past
        living = float(self.steady[rest].mean())
        # A picture that sticks, or a vehicle that stops, has bare places that stay as they are.
        if living - float(self.stood[rest].mean()) > STOPPED:
            return False
        # What passes grows lighter here and darker there; a tunnel or a cloud darkens all of it.
        if abs(float(np.median(moved[~self.mask]))) > REST and living > LIVING:
            return False
        # Sky and walls that come where something stood are as light as what was around it.
        other = float(np.median(np.abs(moved[self.mask])))
        around = (cv2.dilate(wide, kernel) > 0) & rest
        near = np.abs(self.level[around] - float(np.median(self.level[self.mask]))) <= STEADY
        alike = float(near.mean())
        if other < OTHER or alike > ALIKE:
            return False
        # A scene that changes altogether goes bare in many places.
        stray = float((self.lost & rest).sum() / self.mask.sum())
        apart = alike <= APART
        if apart and other >= PLAIN_OTHER and living <= PLAIN_LIVING:
            return stray <= PLAIN_STRAY
        # What moves on uncovers as much as it hides; what lies on the lens only hides.
        return stray <= STRAY and (apart or self.came <= CAME)


def _grouped(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """``mask`` without single tiles: of each kept one four of its eight neighbours are in it."""
    kernel = np.ones((3, 3), np.float32)
    near = cv2.filter2D(mask.astype(np.float32), -1, kernel, borderType=cv2.BORDER_REPLICATE)
    core = mask & (near >= 6)
    grown = cv2.dilate(core.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    return np.asarray(mask & grown, np.bool_)


def _lasts(mean: Tiles, bare: NDArray[np.bool_], mask: NDArray[np.bool_], at: int) -> int:
    level = _median(mean[at : at + AFTER])
    last, apart = at, 0
    for now in range(at, len(mean)):
        same = bare[now] & (np.abs(mean[now] - level) <= 2 * STEADY)
        if same[mask].mean() >= HELD:
            last, apart = now, 0
        elif bare[now][mask].mean() >= HELD and apart < BRIDGED:
            # A little light comes through: a lighter scene makes a cover lighter for a while.
            apart += 1
        else:
            break
    return last


def _median(few: Tiles) -> Tiles:
    """As np.median over a few pictures, several times faster."""
    rows = np.sort(few, axis=0)
    count = len(rows)
    return np.asarray((rows[(count - 1) // 2] + rows[count // 2]) / 2, np.float32)
