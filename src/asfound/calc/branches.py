"""A log that was continued in two places: its branches, and the one that counts.

What counts is told by the set of entries alone, so that stores that know the same entries agree,
whatever came first.
"""

from __future__ import annotations

from collections.abc import Iterable

from asfound.model.journal import GENESIS, Entry

CLOSING = "closed"
"""The kind of entry that ends a visit, or a request."""

Branch = tuple[Entry, ...]


def branches(entries: Iterable[Entry]) -> tuple[Branch, ...]:
    """Every chain from a first entry to one that nothing continues, best first: closed before
    open, then the longer one, then the one whose last hash is smaller.

    ``entries`` are of one log, their hashes are right. Raises ValueError when one continues an
    entry that is not among them, or has another number than its place.
    """
    known = {entry.hash: entry for entry in entries}
    continued = {entry.previous for entry in known.values()}
    for entry in known.values():
        before = known.get(entry.previous)
        if before is None and entry.previous != GENESIS:
            raise ValueError(f"entry {entry.seq} continues one that is not there")
        if entry.seq != (before.seq + 1 if before else 0):
            raise ValueError(f"entry {entry.seq} does not stand in its place")
    made = [_chain(entry, known) for entry in known.values() if entry.hash not in continued]
    return tuple(sorted(made, key=_rank))


def _chain(last: Entry, known: dict[str, Entry]) -> Branch:
    back = [last]
    while back[-1].previous in known:
        back.append(known[back[-1].previous])
    return tuple(reversed(back))


def _rank(chain: Branch) -> tuple[bool, int, str]:
    return not any(entry.kind == CLOSING for entry in chain), -len(chain), chain[-1].hash
