"""Load a visit from its journal, and write entries that are durable before they count."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

from asfound.calc.plain_text import code, plain, unseen
from asfound.errors import IntegrityError, NotFound, UsageError
from asfound.jobs.visit_fold import Fetch, advance, fold
from asfound.model.firmware import Catalogue
from asfound.model.firmware_choice import NO_RULES, FirmwareRules, OpenedUnder
from asfound.model.hold import Hold
from asfound.model.journal import Entry, chain_fault, next_entry
from asfound.model.procedure import GateKind
from asfound.model.visit import VisitState
from asfound.ports.blobs import Blobs
from asfound.ports.clock import Clock
from asfound.ports.documents import to_data, to_json
from asfound.ports.store import Store


class Rules(Protocol):
    """What the fleet's firmware catalogue and rollouts say, as they are now."""

    def under(self, map_id: str) -> OpenedUnder:
        """What there is of them for a recorder model."""
        ...

    def of(self, state: VisitState) -> FirmwareRules:
        """What they say of a visit's choice. A file that cannot be read is said in the answer."""
        ...

    def catalogue(self) -> tuple[Catalogue, str] | None:
        """The catalogue and the SHA-256 of its file; None while there is none. Raises InputError,
        StorageError."""
        ...


class NoRules:
    """A place without catalogue and rollouts."""

    def under(self, map_id: str) -> OpenedUnder:
        """See Rules."""
        return OpenedUnder()

    def of(self, state: VisitState) -> FirmwareRules:
        """See Rules."""
        return NO_RULES

    def catalogue(self) -> tuple[Catalogue, str] | None:
        """See Rules."""
        return None


RULELESS: Rules = NoRules()


RULED: frozenset[GateKind] = frozenset({"firmware-chosen", "rollout-allows"})
"""Gates that look at catalogue and rollouts."""


@dataclass(frozen=True)
class Desk:
    """What every act on a visit needs: where entries and blobs go, what time it is, what the
    fleet's catalogue and rollouts say, and the home's tag in ids ("": it has no key)."""

    store: Store
    blobs: Blobs
    clock: Clock
    rules: Rules = RULELESS
    writer: str = ""


def load_visit(visit: str, *, store: Store, blobs: Blobs, rules: Rules = RULELESS) -> VisitState:
    """The visit as it stands; while it is open, with the holds and ``rules`` of this moment.

    Without ``rules`` what catalogue and rollouts say is not known: fine for whoever looks at no
    gate. Raises NotFound, IntegrityError (the chain is broken, a blob is missing or altered).
    """
    state = fold(_chain(visit, store), _fetch(blobs))
    if state.closed:
        return state
    return with_rules(replace(state, holds=vehicle_holds(state, store)), rules)


def with_rules(state: VisitState, rules: Rules) -> VisitState:
    """With what catalogue and rollouts say now, where a step that is still to do asks for it."""
    asks = any(
        RULED & set(step.gates) and not state.is_done(step.id) for step in state.procedure.steps
    )
    return replace(state, rules=rules.of(state)) if asks else state


class Book:
    """An open visit's journal, ready to be written on; ``state`` follows every entry.

    ``closed_too``: a closed visit's as well, for what may come after the closing."""

    def __init__(self, visit: str, desk: Desk, closed_too: bool = False) -> None:
        self._desk = desk
        self._fetch = _fetch(desk.blobs)
        self._entries = list(_chain(visit, desk.store))
        self._folded = fold(self._entries, self._fetch)
        if self._folded.closed and not closed_too:
            raise UsageError(
                f"visit {visit} is closed and takes no more entries; "
                f"open a new one: asfound visit open {self._folded.vehicle.number}"
            )
        if not self._folded.closed:
            self._note_holds()
            self._folded = with_rules(self._folded, desk.rules)

    @property
    def state(self) -> VisitState:
        """The visit after all entries so far, with the holds of this moment."""
        return self._folded

    @property
    def desk(self) -> Desk:
        """Where this book writes."""
        return self._desk

    def write(self, by: str, kind: str, data: Mapping[str, Any]) -> VisitState:
        """Append an entry, durably, and fold it in. Raises StorageError; IntegrityError when
        someone else wrote in between."""
        entry = next_entry(
            self._entries, self._folded.id, self._desk.clock.now(), named(by), kind, data
        )
        self._desk.store.append(entry)
        self._entries.append(entry)
        self._folded = advance(self._folded, entry, self._fetch)
        if kind in ("firmware-chosen", "as-found-read"):
            # What catalogue and rollouts say depends on what was chosen, and over which version.
            self._folded = with_rules(self._folded, self._desk.rules)
        return self._folded

    def keep(self, document: object) -> str:
        """Store a model object as a blob, durably, and return its name."""
        return self._desk.blobs.put(to_json(document).encode("utf-8"))

    def _note_holds(self) -> None:
        """Holds change without the visit; the journal says so before anything else happens."""
        known, now = self._folded.holds, vehicle_holds(self._folded, self._desk.store)
        if now != known:
            changed = [hold for hold in now if hold not in known]
            by = (changed[-1].released_by or changed[-1].placed_by) if changed else "asfound"
            self.write(by, "holds-changed", {"holds": [to_data(hold) for hold in now]})


def tidy(text: str) -> str:
    """What a person typed, in one line. Raises UsageError when it holds what nobody can see."""
    line = " ".join(text.split())
    bad = unseen(line)
    if bad:
        raise UsageError(f"{plain(line)!r} holds the unseen character {code(bad)}; type it anew")
    return line


def named(by: str) -> str:
    """A person's name, tidied. Raises UsageError when there is none."""
    name = tidy(by)
    if not name:
        raise UsageError("say who did it: --by NAME")
    return name


def reasoned(reason: str) -> str:
    """A reason, tidied. Raises UsageError when there is none."""
    text = tidy(reason)
    if not text:
        raise UsageError("say why: --reason WHY")
    return text


def vehicle_holds(state: VisitState, store: Store) -> tuple[Hold, ...]:
    """Holds that concern the visit: active on its vehicle, or released since it was opened."""
    return tuple(
        hold
        for hold in store.holds(state.vehicle.number)
        if hold.released_at is None or hold.released_at >= state.opened_at
    )


def _chain(visit: str, store: Store) -> Sequence[Entry]:
    entries = store.entries(visit)
    if not entries:
        raise NotFound(f"no visit {visit!r}; `asfound visit list` shows them")
    fault = chain_fault(entries)
    if fault is not None:
        raise IntegrityError(f"visit {visit}: {fault}; bring the database back from a copy")
    return entries


def _fetch(blobs: Blobs) -> Fetch:
    def fetch(name: str) -> bytes:
        try:
            return blobs.get(name)
        except NotFound as error:
            # An entry names only what was stored before it: this was lost since.
            raise IntegrityError(f"a stored document is missing: {error}") from None

    return fetch
