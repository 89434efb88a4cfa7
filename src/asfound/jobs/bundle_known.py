"""What a store knows that belongs into a bundle, and what each of a log's branches rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from asfound.calc.branches import Branch, branches
from asfound.errors import AsfoundError, IntegrityError
from asfound.jobs.footage_requests import one_request
from asfound.jobs.visit_check import named_blobs
from asfound.jobs.visit_fold import Fetch, fold
from asfound.model.footage_request import FootageRequest
from asfound.model.journal import Entry, chain_fault
from asfound.model.visit import VisitState
from asfound.ports.drive_log import DriveLog
from asfound.ports.merging import Merging
from asfound.ports.request_log import RequestLog
from asfound.ports.store import Store

BLOBS = "data/blobs/"


@dataclass(frozen=True, slots=True)
class Source:
    """The parts of one store."""

    store: Store
    requests: RequestLog
    merging: Merging
    drives: DriveLog


@dataclass(frozen=True, slots=True)
class KnownVisit:
    """A visit folded from the branch that counts, and the names of the blobs it rests on;
    ``aside`` are the other branches."""

    state: VisitState
    blobs: tuple[str, ...]
    aside: tuple[Branch, ...]


def known_visit(visit: str, entries: Sequence[Entry], fetch: Fetch) -> KnownVisit:
    """The visit that ``entries``, all branches of it, add up to.

    Raises IntegrityError (a chain is broken, a blob is missing or altered, an entry cannot stand
    where it does), InputError (a document does not read as one).
    """
    main, *aside = sound_branches(visit, entries)
    state = fold(main, fetch)
    named, unreadable = named_blobs(main, fetch)
    if unreadable:
        raise IntegrityError(f"visit {visit}: {unreadable[0]}; bring the database back from a copy")
    return KnownVisit(state, tuple(sorted(named)), tuple(aside))


def known_request(name: str, entries: Sequence[Entry]) -> tuple[FootageRequest, ...]:
    """The request by each of its branches, the one that counts first. Raises IntegrityError."""
    chains = sound_branches(name, entries)
    return tuple(one_request(_OneLog(chain), name) for chain in chains)


def sound_branches(log: str, entries: Sequence[Entry]) -> tuple[Branch, ...]:
    """Branches, best first. Raises IntegrityError when one is broken, or there is none."""
    try:
        made = branches(entries)
    except ValueError as error:
        raise IntegrityError(f"{log}: {error}; bring it back from a copy") from None
    for chain in made:
        fault = chain_fault(chain)
        if fault is not None:
            raise IntegrityError(f"{log}: {fault}; bring it back from a copy")
    if not made:
        raise IntegrityError(f"{log}: has no entries")
    return made


def aside_blobs(chain: Branch, fetch: Fetch) -> tuple[str, ...]:
    """What a branch that does not count rests on, as far as it can be told."""
    try:
        return tuple(sorted(named_blobs(chain, fetch)[0]))
    except AsfoundError:
        return ()


class _OneLog:
    """A log of requests that holds one chain."""

    def __init__(self, chain: Branch) -> None:
        self._chain = chain

    def append_request(self, entry: Entry) -> None:
        """Nothing is written here. Raises IntegrityError."""
        raise IntegrityError(f"log {entry.visit}: is only read")

    def request_entries(self, log: str | None = None) -> Sequence[Entry]:
        """See RequestLog."""
        return self._chain
