"""Every limit and constant with its document, clause and year."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """Where a value comes from; ``how`` is "read", "memory" or "common practice"."""

    document: str
    clause: str = ""
    year: int | None = None
    how: str = "read"

    def cite(self) -> str:
        """One line for tables and reports."""
        parts = [self.document, self.clause, str(self.year) if self.year else ""]
        return ", ".join(part for part in parts if part)


@dataclass(frozen=True, slots=True)
class Limit:
    """A value with its unit ("1" for a ratio) and its source."""

    value: float
    unit: str
    source: Source
