"""What is set aside, as pages show it: branches of logs that were continued in two places."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from asfound.model.bundle import Book
from asfound.model.journal import Entry
from asfound.ports.merging import Merging


@dataclass(frozen=True, slots=True)
class AsideRow:
    """The entries of ``log``, a log of this ``book``, that are kept and do not count."""

    book: Book
    log: str
    entries: tuple[Entry, ...]


def aside_rows(merging: Merging) -> tuple[AsideRow, ...]:
    """Every log with a branch that is set aside. Raises StorageError, IntegrityError."""
    return tuple(
        AsideRow(book, log, tuple(entries))
        for book in Book
        for log, entries in groupby(merging.set_aside(book), lambda entry: entry.visit)
    )
