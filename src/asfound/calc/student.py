"""Student's t for whole degrees of freedom, without a table.

P(|T| <= t) by the finite series of Abramowitz and Stegun, Handbook of Mathematical Functions
(1964), 26.7.3 (odd) and 26.7.4 (even), from memory; held against SciPy in the tests.
"""

from __future__ import annotations

from functools import lru_cache
from math import atan, cos, pi, sin, sqrt

MANY = 200
"""Degrees of freedom beyond which those of 200 are taken: 0.6 % too wide at most."""


def within_share(t: float, freedom: int) -> float:
    """P(|T| <= t), 0..1, for t >= 0 and at least one degree of freedom."""
    angle = atan(t / sqrt(freedom))
    square, term, total = cos(angle) ** 2, 1.0, 0.0
    first = 2 + freedom % 2
    if freedom % 2:
        term = cos(angle)
    for step in range(first, freedom + 1, 2):
        total += term
        term *= square * (step - 1) / step
    if freedom % 2:
        return 2 / pi * (angle + sin(angle) * total)
    return sin(angle) * total


@lru_cache(maxsize=512)
def t_quantile(share: float, freedom: int) -> float:
    """The t with P(|T| <= t) = ``share``, by halving. Raises ValueError."""
    if not 0 < share < 1 or freedom < 1:
        raise ValueError(f"no quantile: share {share}, {freedom} degrees of freedom")
    freedom = min(freedom, MANY)
    low, high = 0.0, 1.0
    while within_share(high, freedom) < share:
        high *= 2
    for _ in range(200):
        middle = (low + high) / 2
        if within_share(middle, freedom) < share:
            low = middle
        else:
            high = middle
    return high
