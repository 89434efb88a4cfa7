"""A caution: what can hurt, where it comes from, and to whom it defers."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution. ``defers_to`` names who has the last word; ``source`` is for the report."""

    id: str
    title: str
    text: str
    source: str
    defers_to: str
