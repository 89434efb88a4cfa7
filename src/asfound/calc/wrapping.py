"""Marks that a menu puts round values: learned from the values whose form is known."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from asfound.calc.parse_value import Parsed

Marks = tuple[str, str]


def common_marks(parsed: Sequence[Parsed]) -> frozenset[Marks]:
    """Pairs of marks seen round at least two values of known form on the page."""
    seen = Counter(one.wrapped for one in parsed if one.value is not None and any(one.wrapped))
    return frozenset(marks for marks, count in seen.items() if count >= 2)


def unwrapped(
    text: str, scores: tuple[float, ...], marks: frozenset[Marks]
) -> tuple[str, tuple[float, ...]]:
    """``text`` without a known pair of marks (and without their scores)."""
    for before, after in sorted(marks, key=lambda pair: -len(pair[0] + pair[1])):
        if text.startswith(before) and text.endswith(after) and len(text) >= len(before + after):
            end = len(text) - len(after)
            inner = text[len(before) : end]
            lead = len(inner) - len(inner.lstrip())
            kept = inner.strip()
            start = len(before) + lead
            return kept, scores[start : start + len(kept)]
    return text, scores
