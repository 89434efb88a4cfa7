"""Samples of key pictures, and of the pictures between some of them, put into one row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from asfound.calc.picture_faults import Samples
from asfound.calc.timelines import Stands

SAME_S = 1e-6
"""Samples that lie no farther apart than this are of one picture."""
NAMES = tuple(field.name for field in fields(Samples) if field.name != "end_s")


def joined(keys: Samples, stands: Stands, pieces: Sequence[Samples]) -> Samples:
    """``keys`` (n key pictures) with ``pieces`` (ascending in time) filled in.

    Each piece goes from one key picture through what lies between to the next one; either may
    be missing. ``stands`` (n): what each key picture stands for, as sizes say. A picture in two
    places comes once: a key picture's measures against the key picture before are those of
    ``keys``, its step is to the picture right before it where a piece has that.
    """
    first = np.arange(len(keys.second)) == 0
    changed = ("step", "key_step", "key_equal")
    copies = {name: getattr(keys, name).copy() for name in changed}
    copies |= {"holds": stands.holds, "lead_s": stands.lead_s.copy(), "trail_s": stands.trail_s}
    base = replace(keys, dense=first, **copies)
    parts = [base]
    reached, first_s = -np.inf, keys.second[0] if len(keys.second) else np.inf
    for piece in pieces:
        if not len(piece.second):
            continue
        use = piece.second > reached + SAME_S
        reached = float(piece.second[-1])
        if len(use) > 1 and piece.key[0] and piece.second[0] > first_s:
            use[0] = False  # a key picture that was passed over has nothing to be held against
        for at in (0, -1):
            known = np.flatnonzero(np.abs(base.second - piece.second[at]) <= SAME_S)
            if len(known) and use[at]:
                use[at] = False
                if at:
                    _take_step(base, int(known[0]), piece)
        parts.append(_rows(piece, use))
    whole = {name: np.concatenate([getattr(part, name) for part in parts]) for name in NAMES}
    order = np.argsort(whole["second"], kind="stable")
    ordered = {name: whole[name][order] for name in NAMES}
    at_keys = np.isin(ordered["second"], base.second[base.holds])
    ordered["holds"] = at_keys | _inside(ordered["second"], pieces)
    return Samples(**ordered, end_s=keys.end_s)


def _inside(seconds: NDArray[np.float64], pieces: Sequence[Samples]) -> NDArray[np.bool_]:
    """Seconds that are followed by a piece's next sample, or by the end of the stream."""
    out = np.zeros(len(seconds), np.bool_)
    for piece in pieces:
        if len(piece.second):
            first, last = piece.second[0] - SAME_S, piece.second[-1] - SAME_S
            # A piece that ends before the next key picture ends with the stream.
            last = last if piece.end_s <= piece.second[-1] + SAME_S else np.inf
            out |= (seconds >= first) & (seconds < last)
    return out


def _take_step(base: Samples, at: int, piece: Samples) -> None:
    """The last picture's measures against what comes right before it."""
    base.step[at] = piece.step[-1]
    base.dense[at], base.lead_s[at] = True, 0.0
    if piece.key[1:-1].any():  # every picture is a key picture: the one before is another
        base.key_step[at] = piece.key_step[-1]
        base.key_equal[at] = piece.key_equal[-1]


def _rows(samples: Samples, use: NDArray[np.bool_]) -> Samples:
    parts = {name: getattr(samples, name)[use] for name in NAMES}
    return Samples(**parts, end_s=samples.end_s)
