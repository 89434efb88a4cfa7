"""How often something happens, from how often it was seen: exact Poisson bounds.

F. Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28, 1936 (from memory): the
means for which as many or more, and as many or fewer, are seen in 2.5 % of cases. Nothing seen in n
days bounds the rate at 3.7 / n.
"""

from __future__ import annotations

from math import log, sqrt

import numpy as np

MANY = 100_000
"""Counts beyond which the normal approximation is exact enough (0.3 %)."""


def rate_band(count: int, exposure: float, share: float = 0.95) -> tuple[float, float]:
    """(low, high) events in one unit of ``exposure`` (days, hours). Raises ValueError."""
    if count < 0 or not exposure > 0:
        raise ValueError(f"no rate: {count} events in {exposure}")
    tail = (1 - share) / 2
    if count > MANY:
        reach = 1.96 * sqrt(count)
        return (count - reach) / exposure, (count + reach) / exposure
    low = _mean_where(count - 1, 1 - tail, count) if count else 0.0
    return low / exposure, _mean_where(count, tail, count) / exposure


def _mean_where(count: int, share: float, near: int) -> float:
    """The mean at which ``count`` or fewer are seen with probability ``share``, by halving."""
    seen = np.arange(count + 1)
    ways = np.concatenate([[0.0], np.cumsum(np.log(seen[1:]))])
    low, high = 1e-9, near + 10 * sqrt(near + 1) + 10
    for _ in range(80):
        middle = (low + high) / 2
        if float(np.exp(seen * log(middle) - middle - ways).sum()) > share:
            low = middle
        else:
            high = middle
    return (low + high) / 2
