"""How likely a value is right: a logistic fit over what two recognisers say of it.

Fitted on 1,578 values of the simulator's tuning looks (clean, everyday and hard photographs; seeds
below 1,000,000); docs/reading.md shows how true it is on looks and seeds never used in tuning.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp

from asfound.calc.judge import Look
from asfound.calc.weigh import Weighed
from asfound.model.kinds import FieldType, Host, ReadOnly, Text

_BIAS, _MARGIN, _LEAST, _GAP, _AGREE, _AGAINST = 0.863, 0.360, 0.058, -0.106, 1.436, -0.899

_MOST_ODDS, _LEAST_ODDS, _FARTHEST = 8.0, -6.0, 6.0
"""Where margins and gaps are cut off: beyond, more of them says no more."""


def confidence(
    kind: FieldType, value: str, looks: Sequence[Look], weighed: Weighed
) -> float | None:
    """The probability, 0..1, that ``value`` is right; None where nothing was weighed."""
    if weighed.value is None:
        return None
    open_kind = isinstance(kind, Text | Host | ReadOnly)

    def same(text: str | None) -> bool:
        if text is None or not open_kind:
            return text == value
        return "".join(text.split()) == "".join(value.split())

    read = [look.parsed.value for look in looks if look.parsed.value is not None]
    agree = min(2, sum(same(text) for text in read))
    against = min(2, sum(not same(text) for text in read))
    if same(weighed.value):
        margin, least = weighed.margin, weighed.least
    else:
        margin, least = -weighed.margin, _LEAST_ODDS
    odds = (
        _BIAS
        + _MARGIN * min(max(margin, _LEAST_ODDS), _MOST_ODDS)
        + _LEAST * min(max(least, _LEAST_ODDS), _MOST_ODDS)
        + _GAP * min(weighed.gap, _FARTHEST)
        + _AGREE * agree
        + _AGAINST * against
    )
    return 1.0 / (1.0 + exp(-odds))
