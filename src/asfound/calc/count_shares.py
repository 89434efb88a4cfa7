"""Shares learned from counts: Dirichlet and Beta posteriors, their means and credible bounds.

    mean   = (weight * share + count) / (weight + all counts)
    bounds = quantiles of Beta(a, b), a = weight * share + count, b = weight + all counts - a

The mean is the chance of the next case under a Dirichlet prior worth ``weight`` cases (Gelman et
al., Bayesian Data Analysis, ch. 2 and 3; from memory). Quantiles are found by halving; the Beta
distribution function is the regularised incomplete beta function, by its continued fraction
(NIST DLMF 8.17.22; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, lgamma, log, log1p

TINY = 1e-300
STEPS = 300


def shares(prior: Sequence[float], weight: float, counts: Sequence[float]) -> list[float]:
    """Means [1], of shares ``prior`` [1] that weigh ``weight`` cases and ``counts`` of each.

    They add up to what ``prior`` does when that is 1. Raises ValueError when weight is not above 0.
    """
    if weight <= 0 or min(counts, default=0) < 0:
        raise ValueError("a weight above 0 and counts from 0 are needed")
    total = weight + sum(counts)
    return [(weight * share + count) / total for share, count in zip(prior, counts, strict=True)]


def share_bounds(
    share: float, weight: float, count: float, total: float, level: float = 0.9
) -> tuple[float, float]:
    """Credible bounds [1]: the share lies between them with chance ``level``, equal tails.

    ``share`` weighs ``weight`` cases; it was counted ``count`` times of ``total``.
    """
    if not 0 < share < 1 or not 0 <= count <= total:
        raise ValueError("a share between 0 and 1, and a count up to the total are needed")
    a = weight * share + count
    b = weight + total - a
    tail = (1 - level) / 2
    return beta_quantile(tail, a, b), beta_quantile(1 - tail, a, b)


def beta_quantile(chance: float, a: float, b: float) -> float:
    """The value [1] that a Beta(a, b) share stays below with this chance [1]."""
    low, high = 0.0, 1.0
    for _ in range(200):
        middle = (low + high) / 2
        if not low < middle < high:
            break
        low, high = (middle, high) if beta_below(middle, a, b) < chance else (low, middle)
    return (low + high) / 2


def beta_below(value: float, a: float, b: float) -> float:
    """The chance [1] that a Beta(a, b) share is below ``value`` [1]; a and b above 0."""
    if value <= 0:
        return 0.0
    if value >= 1:
        return 1.0
    # The fraction converges fast on this side of the mean; the other side is its mirror.
    if value > (a + 1) / (a + b + 2):
        return 1 - beta_below(1 - value, b, a)
    front = lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(value) + b * log1p(-value)
    return exp(front) / a / _fraction(value, a, b)


def _fraction(x: float, a: float, b: float) -> float:
    """1 + d1/(1 + d2/(1 + ...)), by Lentz's method as Thompson and Barnett changed it."""
    result = c = 1.0
    d = 0.0
    for step in range(1, STEPS):
        m = step // 2
        if step % 2:
            term = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            term = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1 + term * d
        d = 1 / (d if abs(d) > TINY else TINY)
        c = 1 + term / c
        c = c if abs(c) > TINY else TINY
        result *= c * d
        if abs(c * d - 1) < 1e-15:
            break
    return result
