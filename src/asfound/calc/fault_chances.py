"""Chances of causes after what was seen, and what a further check would tell.

One root cause of several; symptoms and outcomes of checks are independent of each other given the
cause ("naive" Bayes). With P(c) before, and P(o|c) a check's table:

    P(c|e)  = P(c) prod P(e_i|c) / sum over causes                    (Bayes' theorem)
    H       = - sum P(c) log2 P(c)                          [bits]    (Shannon 1948)
    gain    = sum over c, o of P(c) P(o|c) log2 (P(o|c) / P(o))  [bits]   (mutual information)
    minutes = sum over i of P(c_i) (m_1 + ... + m_i), causes in order of P(c)/m

The last is the expected minutes until the right cause is repaired when causes are repaired one
after the other, most chance a minute first, which is the cheapest order for one fault; the use of
it to choose checks is that of Heckerman, Breese and Rommelse, Decision-theoretic troubleshooting,
Comm. ACM 38(3), 1995 (from memory). All figures are float64 arrays; C causes, O outcomes,
Q checks. Tables of checks with fewer outcomes are filled up with zeros.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Figures = NDArray[np.float64]


def posterior(prior: Figures, likelihoods: Sequence[Figures]) -> Figures:
    """Chances of causes (C,) from those before (C,) and P(what was seen | cause), each (C,).

    The order of what was seen does not change a bit of the answer. Raises ValueError when no cause
    is left: each is impossible before, or with something that was seen.
    """
    with np.errstate(divide="ignore"):
        logs = np.log(np.stack([prior, *likelihoods]))
    # Sorted, the same numbers are added in the same order whatever order they came in.
    total = np.sort(logs, axis=0).sum(axis=0)
    highest = total.max()
    if not np.isfinite(highest):
        raise ValueError("no cause is left that fits what was seen")
    weights = np.exp(total - highest)
    return np.asarray(weights / weights.sum())


def entropy_bits(chances: Figures) -> float:
    """How much is not known [bits]: 0 when one cause is certain, log2 C when all are alike."""
    some = chances[chances > 0]
    return float(max(0.0, -(some * np.log2(some)).sum()))


def gains_bits(chances: Figures, tables: Figures) -> Figures:
    """What each check tells on average [bits] (Q,), of ``chances`` (C,) and ``tables`` (Q, C, O);
    never less than 0 nor more than there is to know."""
    each = np.einsum("c,qco->qo", chances, tables)[:, np.newaxis, :]
    ratio = np.divide(tables, each, out=np.ones_like(tables), where=(tables > 0) & (each > 0))
    told = np.einsum("c,qco,qco->q", chances, tables, np.log2(ratio))
    return np.asarray(np.clip(told, 0.0, entropy_bits(chances)))


def repair_minutes(chances: Figures, minutes: Figures) -> Figures:
    """Expected minutes (...) until the right cause is repaired, causes tried in order of chance
    a minute; ``chances`` (..., C) need not add up to 1, ``minutes`` (C,) are above 0."""
    order = np.argsort(-chances / minutes, axis=-1, kind="stable")
    sorted_chances = np.take_along_axis(chances, order, axis=-1)
    return np.asarray((sorted_chances * np.cumsum(minutes[order], axis=-1)).sum(axis=-1))


def minutes_after(chances: Figures, tables: Figures, minutes: Figures) -> Figures:
    """Expected ``repair_minutes`` (Q,) when a check was made first, the check's own left out."""
    joint = np.einsum("c,qco->qoc", chances, tables)
    return np.asarray(repair_minutes(joint, minutes).sum(axis=-1))
