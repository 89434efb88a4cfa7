"""Is a stated probability true? Reliability, its error, and a monotone mend.

Pairs are (confidence 0..1, whether the value was right). Of all values stated with 0.9, nine in
ten should be right.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

Pair = tuple[float, bool]


@dataclass(frozen=True, slots=True)
class Bin:
    """Pairs of like confidence: from ``low`` (taken in) to ``high`` (left out, but in the last
    bin), how many, their mean confidence, and the share that was right with the bounds within
    which the true share lies in 95 of 100 cases."""

    low: float
    high: float
    count: int
    confidence: float
    right: float
    least: float
    most: float


def reliability(pairs: Iterable[Pair], bins: int = 10) -> tuple[Bin, ...]:
    """The bins of equal width that hold any pair, from the lowest.

    Raises ValueError for a confidence outside 0..1 or fewer than one bin.
    """
    if bins < 1:
        raise ValueError("at least one bin")
    found: list[list[Pair]] = [[] for _ in range(bins)]
    edges = [number / bins for number in range(bins + 1)]
    for confidence, right in _checked(pairs):
        place = min(bisect_right(edges, confidence) - 1, bins - 1)
        found[place].append((confidence, right))
    made = []
    for number, inside in enumerate(found):
        if inside:
            count = len(inside)
            hits = sum(right for _, right in inside)
            least, most = wilson(hits, count)
            mean = sum(confidence for confidence, _ in inside) / count
            made.append(
                Bin(edges[number], edges[number + 1], count, mean, hits / count, least, most)
            )
    return tuple(made)


def expected_error(pairs: Iterable[Pair], bins: int = 10) -> float:
    """Expected calibration error, 0..1: |share right - mean confidence| averaged over the bins,
    each by its count (Naeini, Cooper, Hauskrecht, AAAI 2015). ValueError without pairs."""
    found = reliability(pairs, bins)
    total = sum(one.count for one in found)
    if not total:
        raise ValueError("no pairs")
    return sum(one.count * abs(one.right - one.confidence) for one in found) / total


def brier(pairs: Iterable[Pair]) -> float:
    """Mean squared distance of the confidence from 1 (right) or 0 (wrong): Brier, Monthly
    Weather Review 78, 1950, for two outcomes. ValueError without pairs."""
    known = _checked(pairs)
    if not known:
        raise ValueError("no pairs")
    return sum((confidence - right) ** 2 for confidence, right in known) / len(known)


def wilson(hits: int, count: int, z: float = 1.959964) -> tuple[float, float]:
    """Score interval of a share (Wilson, J. Am. Stat. Assoc. 22, 1927); 95 % by default.

    (0, 1) when ``count`` is 0: nothing is known.
    """
    if count == 0:
        return 0.0, 1.0
    share, extra = hits / count, z * z / count
    middle = (share + extra / 2) / (1 + extra)
    half = z * sqrt(share * (1 - share) / count + extra / (4 * count)) / (1 + extra)
    return max(0.0, middle - half), min(1.0, middle + half)


@dataclass(frozen=True, slots=True)
class Monotone:
    """A never falling function through ``points`` (raw score, probability), level outside."""

    points: tuple[tuple[float, float], ...]

    def at(self, score: float) -> float:
        """The probability at ``score``, straight between two points."""
        xs = [x for x, _ in self.points]
        after = bisect_right(xs, score)
        if after == 0:
            return self.points[0][1]
        if after == len(xs):
            return self.points[-1][1]
        (x0, y0), (x1, y1) = self.points[after - 1], self.points[after]
        return y0 + (y1 - y0) * (score - x0) / (x1 - x0)


def fit_isotonic(pairs: Iterable[Pair]) -> Monotone:
    """The never falling probabilities with the least squared distance from what was right.

    Pool adjacent violators (Ayer, Brunk, Ewing, Reid, Silverman, Ann. Math. Stat. 26, 1955).
    Scores need not be probabilities. Raises ValueError without pairs.
    """
    scores: dict[float, list[bool]] = {}
    for score, right in pairs:
        scores.setdefault(float(score), []).append(bool(right))
    if not scores:
        raise ValueError("no pairs")
    blocks: list[tuple[float, int, float, float]] = []
    for score in sorted(scores):
        seen = scores[score]
        mean, weight, first, last = sum(seen) / len(seen), len(seen), score, score
        while blocks and blocks[-1][0] >= mean:
            other, count, first, _ = blocks.pop()
            mean = (other * count + mean * weight) / (count + weight)
            weight += count
        blocks.append((mean, weight, first, last))
    points: list[tuple[float, float]] = []
    for mean, _, first, last in blocks:
        points += [(first, mean)] if first == last else [(first, mean), (last, mean)]
    return Monotone(tuple(points))


@dataclass(frozen=True, slots=True)
class Sigmoid:
    """1 / (1 + exp(slope x score + shift))."""

    slope: float
    shift: float

    def at(self, score: float) -> float:
        """The probability at ``score``."""
        power = self.slope * score + self.shift
        # exp of a large positive number overflows; both forms are the same function.
        return 1 / (1 + exp(power)) if power < 0 else exp(-power) / (1 + exp(-power))


def fit_sigmoid(pairs: Sequence[Pair]) -> Sigmoid:
    """Platt's fit with his softened targets (Advances in Large Margin Classifiers, 1999), by
    Newton's method with step halving (Lin, Lin, Weng, Machine Learning 68, 2007).

    Raises ValueError unless there are right and wrong pairs.
    """
    hits = sum(right for _, right in pairs)
    misses = len(pairs) - hits
    if not hits or not misses:
        raise ValueError("a fit needs values that were right and values that were wrong")
    high, low = (hits + 1) / (hits + 2), 1 / (misses + 2)
    data = [(score, high if right else low) for score, right in pairs]
    made = Sigmoid(0.0, log((misses + 1) / (hits + 1)))
    loss = _loss(data, made)
    for _ in range(100):
        step = _newton(data, made)
        size = 1.0
        while size > 1e-10:
            tried = Sigmoid(made.slope + size * step[0], made.shift + size * step[1])
            if (after := _loss(data, tried)) < loss:
                break
            size /= 2
        else:
            return made
        made, before, loss = tried, loss, after
        if before - loss < 1e-12 * len(data):
            return made
    return made


def _loss(data: Sequence[tuple[float, float]], model: Sigmoid) -> float:
    total = 0.0
    for score, target in data:
        power = model.slope * score + model.shift
        # log(1 + exp(power)) without overflow.
        total += max(power, 0.0) + log(1 + exp(-abs(power))) - (1 - target) * power
    return total


def _newton(data: Sequence[tuple[float, float]], model: Sigmoid) -> tuple[float, float]:
    """The step to the minimum of the loss's second-order form at ``model``."""
    aa, bb, ab, da, db = 1e-12, 1e-12, 0.0, 0.0, 0.0
    for score, target in data:
        chance = model.at(score)
        curve, off = chance * (1 - chance), target - chance
        aa, bb, ab = aa + score * score * curve, bb + curve, ab + score * curve
        da, db = da + score * off, db + off
    base = aa * bb - ab * ab
    return (-(bb * da - ab * db) / base, -(aa * db - ab * da) / base)


def _checked(pairs: Iterable[Pair]) -> list[Pair]:
    known = [(float(confidence), bool(right)) for confidence, right in pairs]
    if any(not 0.0 <= confidence <= 1.0 for confidence, _ in known):
        raise ValueError("a confidence lies between 0 and 1")
    return known
