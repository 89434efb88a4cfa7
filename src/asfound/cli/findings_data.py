"""Findings of the bench's calculations in their documented form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol


class Found(Protocol):
    """A measured value against a limit (or a span of them), in words."""

    @property
    def kind(self) -> str:
        """Which sort."""
        ...

    @property
    def measured(self) -> float:
        """What was measured."""
        ...

    @property
    def limit(self) -> float | tuple[float, float]:
        """Against what."""
        ...

    @property
    def note(self) -> str:
        """In words."""
        ...


def findings_data(found: Sequence[Found]) -> list[dict[str, Any]]:
    """`findings` of each calculation's JSON (docs/bench.md)."""
    return [
        {"kind": one.kind, "measured": one.measured, "limit": one.limit, "note": one.note}
        for one in found
    ]
