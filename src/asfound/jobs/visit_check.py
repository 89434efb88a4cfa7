"""Check a visit: its chain, and that every blob it rests on is present and unaltered."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from asfound.errors import AsfoundError, IntegrityError, NotFound
from asfound.jobs.visit_fold import Fetch, fold
from asfound.model.finding import Proof
from asfound.model.journal import Entry, chain_fault
from asfound.model.reading import Reading
from asfound.ports.blobs import Blobs
from asfound.ports.documents import from_json
from asfound.ports.progress import Progress, silent
from asfound.ports.store import Store

BLOBS_IN = {
    "opened": ("map",),
    "as-found-read": ("reading",),
    "planned": ("target", "sheet"),
    "as-left-read": ("reading",),
    "compared": ("difference",),
    "proved": ("proof",),
    "coverage-taken": ("coverage", "expected"),
}
"""Keys of an entry's data that name blobs, by kind of entry."""

MAY_NAME = {"planned": ("sums",)}
"""The same, of entries that may do without."""


@dataclass(frozen=True, slots=True)
class VisitCheck:
    """What a check found; ``head`` is the hash that a report of this state bears."""

    visit: str
    entries: int
    blobs: int
    head: str
    faults: tuple[str, ...]


def check_visit(
    visit: str, *, store: Store, blobs: Blobs, progress: Progress = silent
) -> VisitCheck:
    """Check everything; faults are collected, one line each. Raises NotFound (no such visit),
    StorageError, IntegrityError (entries altered beyond reading)."""
    entries = store.entries(visit)
    if not entries:
        raise NotFound(f"no visit {visit!r}; `asfound visit list` shows them")
    faults: list[str] = []
    broken = chain_fault(entries)
    if broken is not None:
        faults.append(broken)
    named, unreadable = named_blobs(entries, blobs.get)
    faults.extend(unreadable)
    for done, (name, owner) in enumerate(named.items(), 1):
        try:
            blobs.get(name)
        except (NotFound, IntegrityError) as error:
            faults.append(f"entry {owner}: {error}")
        progress(done, len(named), owner)
    if not faults:
        faults.extend(_does_not_fold(entries, blobs))
    unique = tuple(dict.fromkeys(faults))
    return VisitCheck(visit, len(entries), len(named), entries[-1].hash, unique)


def named_blobs(entries: Sequence[Entry], fetch: Fetch) -> tuple[dict[str, str], list[str]]:
    """Blob -> the entry that rests on it, and entries whose blobs cannot be told. A blob that
    ``fetch`` refuses (NotFound, IntegrityError) is named, what it names itself is not."""
    named: dict[str, str] = {}
    faults: list[str] = []
    for entry in entries:
        owner = f"{entry.seq} ({entry.kind})"
        for copy in _copies(entry):
            named.setdefault(copy, owner)
        spare = [key for key in MAY_NAME.get(entry.kind, ()) if key in entry.data]
        for key in (*BLOBS_IN.get(entry.kind, ()), *spare):
            name = entry.data.get(key)
            if not isinstance(name, str):
                faults.append(f"entry {owner}: names no {key}")
                continue
            named.setdefault(name, owner)
            try:
                for inner in _inner(entry.kind, fetch(name)):
                    named.setdefault(inner, owner)
            except (NotFound, IntegrityError):
                continue  # reported when the blob itself is checked
            except AsfoundError as error:
                faults.append(f"entry {owner}: {error}")
    gone = _gone(entries)
    return {name: owner for name, owner in named.items() if name not in gone}, faults


def _copies(entry: Entry) -> list[str]:
    """Pictures that stand for others since this entry, or that it was signed with."""
    if entry.kind == "signed":
        return [name for name in (entry.data.get("picture"),) if isinstance(name, str)]
    if entry.kind != "secrets-hidden":
        return []
    return [str(item.get("new")) for item in entry.data.get("pictures", ())]


def _gone(entries: Sequence[Entry]) -> set[str]:
    """Pictures that need not be there any more: a copy stands for them, or they were spare."""
    gone: set[str] = set()
    for entry in entries:
        pictures = entry.data.get("pictures")
        if entry.kind == "secrets-hidden" and isinstance(pictures, list):
            gone.update(str(item.get("old")) for item in pictures if isinstance(item, dict))
        if entry.kind == "originals-removed" and isinstance(pictures, list):
            gone.update(name for name in pictures if isinstance(name, str))
    return gone


def _inner(kind: str, data: bytes) -> Iterator[str]:
    """Names of pictures that a stored reading or proof rests on."""
    if kind in ("as-found-read", "as-left-read"):
        yield from (photo.sha256 for photo in from_json(Reading, data).photos)
    if kind == "proved":
        for recording in from_json(Proof, data).recordings:
            yield from (name for _, name in recording.thumbnails)
            yield from (item.evidence for item in recording.findings if item.evidence)


def _does_not_fold(entries: Sequence[Entry], blobs: Blobs) -> list[str]:
    try:
        fold(entries, blobs.get)
    except AsfoundError as error:
        return [str(error)]
    return []
