"""CSV that every program reads alike and no spreadsheet runs.

RFC 4180 (2005): CR LF ends a line, cells with a separator, a quote or a line end stand in
quotes, quotes inside are doubled. A text that a spreadsheet would take for a formula (it begins
with = + - @, a tab or a line end: OWASP, "CSV Injection") gets an apostrophe in front: names of
files come from outside. Numbers stay numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

Cell = str | int | float | None

FORMULA = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""First characters that begin a formula, and their full-width forms."""

BLANK = ("\t", "\r", "\n")


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """A header line and one line a row; None is an empty cell, a float has at most 6 decimals."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([safe(cell) for cell in row] for row in rows)
    return out.getvalue()


def safe(cell: Cell) -> str:
    """One cell as text."""
    if cell is None:
        return ""
    if isinstance(cell, float):
        return f"{cell:.6f}".rstrip("0").rstrip(".") if cell else "0"
    if isinstance(cell, int):
        return str(cell)
    # A spreadsheet drops blanks in front before it looks for a formula.
    return f"'{cell}" if cell.startswith(BLANK) or cell.lstrip().startswith(FORMULA) else cell
