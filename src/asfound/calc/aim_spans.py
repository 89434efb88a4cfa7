"""From when to when a recording's aim differs from an earlier picture's.

The part of the recording that matches the earlier picture best shows what belongs to the vehicle:
edges that stay there and are in the earlier picture, too. Then each picture is asked whether those
edges are in place, and what is in none of the places asked for is looked for elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.aim import (
    CODES,
    HEIGHT,
    SAME,
    WIDTH,
    Aim,
    Field,
    Match,
    Packed,
    best_match,
    match_at,
    matches,
    spectra,
    staying,
    turned,
)
from asfound.calc.aim_parts import Floats, each_in_place, parts_of, softened
from asfound.sources import AIM_SHIFT, AIM_TURN

FEWEST = 3
"""Fewer pictures than this are no recording to judge aim by."""
KEPT_TIMES, TIMES, MORE_TIMES = 1.12, 1.3, 1.15
"""A match stands out so many times as much as the next best elsewhere: one that says that the aim
was kept, any other, and one of parts that are known (own choices)."""
IN_PLACE = 0.4
"""Share of the parts' edges that pictures must show in place for parts to be known."""
LIKE_BEST = 0.65
"""Pictures that show so much of what those that fit best show have the same aim."""
CHANGE = 3.0
"""By so much, in natural logarithms, two aims must explain pictures better than one does for
the camera to have moved between them (own choice)."""
MOST_SAID = 6.0
"""No picture says more than this for or against an aim (natural logarithm)."""
ENOUGH_SAID = 8.0
"""All pictures of an aim must say so much for it."""
MOST_AIMS, MOST_BASES = 5, 2
"""Aims that a recording is taken to have at most; matches that are tried as its measure."""
APART, APART_TURN = 2.5, 2.0
"""Matches closer than this are one [% of the width, degrees]."""
TOO_LIKE = 0.6
"""An aim by which pictures of the known one show so much of what is usual is no other aim."""
STAYS, STANDING, OFTEN = 0.8, 0.5, 0.7
"""An edge stays when so much of its direction is left on average; a vehicle stands when so many
of the edges that are there often stay: then the surroundings stay as well, and match anything."""

Window = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Held:
    """From picture ``first`` to ``last`` the camera aims like this; ``aim`` None: not as it did,
    how is not known. ``in_place``: share of the vehicle's edges where they are by the recording's
    best match."""

    first: int
    last: int
    aim: Aim | None
    in_place: float

    @property
    def kept(self) -> bool:
        """Is this the earlier picture's aim?"""
        return self.aim is not None and _is_kept(self.aim)


@dataclass(frozen=True, slots=True)
class _Search:
    """What is looked at: pictures, parts of their row with what stays in each, the earlier
    picture's field and its spectra."""

    fields: Sequence[Packed]
    windows: dict[Window, Field]
    earlier: Field
    spectra: Sequence[Field]

    def stays(self, window: Window) -> Field:
        """What stays in a part of the row."""
        if window in self.windows:
            return self.windows[window]
        return staying(self.fields[window[0] : window[1]])


def aims(fields: Sequence[Packed], earlier: Field) -> tuple[Held, ...] | None:
    """Rows of pictures and their aim, in order; None when no match is clear.

    ``earlier``: directions in the earlier picture. A standing vehicle may be told to have kept
    its aim, no more.
    """
    count = len(fields)
    if count < FEWEST:
        return None
    search = _Search(
        fields,
        {(first, stop): staying(fields[first:stop]) for first, stop in _windows(count)},
        earlier,
        spectra(earlier),
    )
    best: tuple[float, tuple[Held, ...]] | None = None
    for aim, window, stands in _bases(search):
        told = _from_base(search, aim, window, stands)
        # The earlier ones match better: a later one must explain more.
        if told is not None and (best is None or told[0] > best[0] + CHANGE):
            best = told
    return None if best is None else best[1]


def _is_kept(aim: Aim) -> bool:
    return aim.shift < AIM_SHIFT.value and abs(aim.turn) < AIM_TURN.value


def _stands_out(match: Match) -> bool:
    return match.times >= (KEPT_TIMES if _is_kept(match.aim) else TIMES)


def _bases(search: _Search) -> list[tuple[Aim, Window, bool]]:
    """The clearest matches with the earlier picture: aim, part of the row, whether it stands."""
    stands = {window: _stands(search.fields[window[0] : window[1]]) for window in search.windows}
    # Noise hides that a part stands; what its neighbours do tells.
    all_stand = float(np.mean(list(stands.values()))) > 0.5
    found: list[tuple[float, Aim, Window, bool]] = []
    for window, field in search.windows.items():
        match = best_match(matches(field, search.spectra))
        kept = _is_kept(match.aim)
        still = all_stand or stands[window]
        if _stands_out(match) and (kept or not still):
            found.append((match.clear * (1.2 if kept else 1.0), match.aim, window, still))
    out: list[tuple[Aim, Window, bool]] = []
    for _, aim, window, still in sorted(found, key=lambda one: -one[0]):
        if len(out) < MOST_BASES and not any(aim.near(one[0], 4.0, 4.0) for one in out):
            out.append((aim, window, still))
    return out


def _from_base(
    search: _Search, base: Aim, window: Window, stands: bool
) -> tuple[float, tuple[Held, ...]] | None:
    """How well the aims explain all pictures that follow from a match, and those aims."""
    known = _known(search, base, window)
    if known is None:
        return None
    edges, shares, spreads, usual, chosen = known
    # Other pictures than those of the window may be the ones that keep this aim.
    stands |= _stands([field for field, one in zip(search.fields, chosen, strict=True) if one])
    said = _said(shares, spreads, usual)
    parts = parts_of(edges)
    if parts is None:
        return None
    found, rows = [SAME], [np.zeros(len(said)), said]
    for match in _elsewhere(search, base, edges, said):
        moved = parts.moved(match.aim)
        known_already = any(match.aim.near(one, APART, APART_TURN) for one in found)
        if match.times < MORE_TIMES or moved is None or known_already or len(found) >= MOST_AIMS:
            continue
        there = np.array([moved.in_place(field) for field in search.fields])
        if np.median(there[chosen, 0]) > TOO_LIKE * usual:
            continue
        found.append(match.aim)
        rows.append(_said(there[:, 0], there[:, 1], usual))
    fit = np.stack(rows, axis=1)
    best, score = _likeliest(fit)
    edges_of = [0, *(np.flatnonzero(np.diff(best)) + 1).tolist(), len(best)]
    held = []
    for first, stop in pairwise(edges_of):
        number = int(best[first])
        # A single picture says that the aim is the known one again, not that it is a new one.
        sure = number == 1 or (number > 1 and fit[first:stop, number].sum() >= ENOUGH_SAID)
        aim = base.then(found[number - 1]) if sure else None
        held.append(Held(first, stop - 1, aim, float(np.mean(shares[first:stop]))))
    if stands:
        # The surroundings may have been taken for parts of the vehicle: that they are gone says
        # nothing.
        held = [one for one in held if one.aim is not None]
    return score, _joined(held)


def _joined(held: Sequence[Held]) -> tuple[Held, ...]:
    """Rows in which the aim is not known, joined to those beside them in which it is not kept;
    there it is known when it is known of half of the pictures or more."""
    out: list[Held] = []
    for moved, group in groupby(held, key=lambda one: not one.kept):
        rows = list(group)
        known = [one for one in rows if one.aim is not None]
        count = sum(one.last - one.first + 1 for one in rows)
        if not moved or len(known) == len(rows):
            out += rows
        elif 2 * sum(one.last - one.first + 1 for one in known) < count:
            out.append(_one(rows, None))
        else:
            starts = [rows[0].first, *(one.first for one in known[1:]), rows[-1].last + 1]
            for one, (first, stop) in zip(known, pairwise(starts), strict=True):
                out.append(replace(one, first=first, last=stop - 1))
    return tuple(out)


def _one(rows: Sequence[Held], aim: Aim | None) -> Held:
    pictures = [one.last - one.first + 1 for one in rows]
    in_place = float(np.average([one.in_place for one in rows], weights=pictures))
    return Held(rows[0].first, rows[-1].last, aim, in_place)


def _known(
    search: _Search, base: Aim, window: Window
) -> tuple[Field, Floats, Floats, float, NDArray[np.bool_]] | None:
    """The parts as a field, what each picture shows of them in place, by how much that varies by
    chance, how much is usual, and in which pictures; None when the match was chance."""
    earlier = softened(turned(search.earlier, base))
    chosen = np.zeros(len(search.fields), np.bool_)
    chosen[window[0] : window[1]] = True
    told = None
    for _ in range(3):
        told = each_in_place(search.fields, chosen, earlier)
        if told is None:
            return None
        shares = told[1]
        best = np.sort(shares)[-max(FEWEST, len(shares) // 3) :]
        more = shares > LIKE_BEST * best.mean()
        if more.sum() < FEWEST or (more == chosen).all():
            break
        chosen = more
    if told is None:
        return None
    usual = float(np.median(told[1][chosen]))
    # Some of what stays is in any full picture by chance, and stays: all of it must match.
    stays = staying([field for field, one in zip(search.fields, chosen, strict=True) if one])
    matched = match_at(matches(stays, search.spectra), base)
    return (*told, usual, chosen) if usual >= IN_PLACE and _stands_out(matched) else None


def _said(shares: Floats, spreads: Floats, usual: float) -> Floats:
    """What each picture says for an aim against that its parts are elsewhere: the logarithm of
    the likelihoods' ratio, both normal with the same spread."""
    spread = np.maximum(spreads, 0.06)
    return np.clip(usual / spread**2 * (shares - usual / 2), -MOST_SAID, MOST_SAID)


def _elsewhere(search: _Search, base: Aim, edges: Field, said: Floats) -> list[Match]:
    """Where the parts may be in pictures that do not show them in place, clearest first."""
    lost = _likeliest(np.stack([np.zeros(len(said)), said], axis=1))[0] == 0
    ends = np.flatnonzero(np.diff(np.concatenate(([0], lost.astype(np.int8), [0]))))
    runs = [
        (first, stop)
        for first, stop in zip(ends[::2].tolist(), ends[1::2].tolist(), strict=True)
        if stop - first >= FEWEST
    ]
    of_parts = spectra(edges)
    kept = base.shift < AIM_SHIFT.value and base.turn == 0
    out = []
    for window in sorted({*search.windows, *runs}):
        if said[window[0] : window[1]].mean() > 0:
            continue
        stays = search.stays(window)
        planes = matches(stays, of_parts)
        out.append(best_match(planes))
        if kept:
            # The earlier picture shows the parts as well, and with it what is not in view now.
            out.append(best_match(planes + matches(stays, search.spectra)))
    return sorted(out, key=lambda match: -match.times)


def _windows(count: int) -> list[Window]:
    """The whole of a row, its halves, and thirds and sixths that overlap by half."""
    out = [(0, count)]
    for share in (2, 3, 6):
        size = count // share
        if size >= FEWEST:
            starts = np.linspace(0, count - size, 2 if share == 2 else 2 * share - 1)
            out += [(first, first + size) for first in starts.round().astype(int).tolist()]
    if count < 6 * FEWEST:
        for size in (FEWEST, FEWEST + 1):
            out += [(first, first + size) for first in range(count - size + 1)]
    return sorted(set(out))


def _stands(fields: Sequence[Packed]) -> bool:
    """Do most of the edges stay where they are?"""
    total = np.zeros((HEIGHT, WIDTH), np.complex64)
    seen = np.zeros((HEIGHT, WIDTH), np.float32)
    for field in fields:
        edges = CODES[field]
        total += edges
        seen += np.abs(edges)
    often = seen > OFTEN * len(fields)
    return bool(often.any() and (np.abs(total)[often] >= STAYS * seen[often]).mean() > STANDING)


def _likeliest(fit: Floats) -> tuple[NDArray[np.intp], float]:
    """Which aim holds at each picture: the row that fits best, each change paid for (A. J.
    Viterbi, IEEE Transactions on Information Theory 13(2), 1967; from memory); and how well."""
    count, kinds = fit.shape
    total, came = fit[0], np.zeros((count, kinds), np.intp)
    for at in range(1, count):
        ways = total[:, None] - CHANGE * (1 - np.eye(kinds))
        came[at] = ways.argmax(axis=0)
        total = ways.max(axis=0) + fit[at]
    best = np.zeros(count, np.intp)
    best[-1] = int(total.argmax())
    for at in range(count - 1, 0, -1):
        best[at - 1] = came[at, best[at]]
    return best, float(total.max())
