"""The figures of a fault guide with what closed visits taught laid over them.

Causes are counted (Dirichlet), and the outcomes of each check by cause (Dirichlet; Beta for
symptoms). A check counts when it was made and told something: which checks are made depends on
what was seen before and not on the cause itself, so that those not made may be passed over. A
symptom counts in every record, as not there when it is not named: what is learned is how often it
is reported, which is what a report is held against.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from asfound.calc.count_shares import share_bounds, shares
from asfound.calc.fault_chances import Figures
from asfound.errors import IntegrityError
from asfound.model.fault_found import KIND, FaultFound, with_found
from asfound.model.fault_guide import NO, UNCLEAR, YES, FaultGuide, Question
from asfound.model.journal import Entry, unaltered
from asfound.ports.store import Store


@dataclass(frozen=True)
class FaultCounts:
    """What records of closed visits add up to: of ``faults`` from ``visits``, causes by id, and
    outcomes by (symptom or check, cause). ``skipped``: records of another guide, or of a cause
    that it does not know."""

    visits: int = 0
    faults: int = 0
    skipped: int = 0
    causes: Mapping[str, int] = field(default_factory=dict)
    outcomes: Mapping[tuple[str, str], Mapping[str, int]] = field(default_factory=dict)


NO_COUNTS = FaultCounts()


@dataclass(frozen=True)
class FaultTables:
    """Figures of a guide as arrays: chance before anything is seen (C,), outcomes (Q, C, O),
    minutes of repair (C,); ``at``: a question's number."""

    guide: FaultGuide
    counts: FaultCounts
    prior: Figures
    chances: Figures
    minutes: Figures
    at: Mapping[str, int]

    def bounds(self, cause: str, level: float = 0.9) -> tuple[float, float]:
        """Where a cause's share [1] of all faults lies with chance ``level``."""
        found = self.guide.cause(cause)
        count = self.counts.causes.get(cause, 0)
        return share_bounds(found.share, self.guide.visits, count, self.counts.faults, level)


def fault_tables(guide: FaultGuide, counts: FaultCounts = NO_COUNTS) -> FaultTables:
    """The guide's figures with ``counts`` laid over them."""
    causes = guide.causes
    seen = [counts.causes.get(cause.id, 0) for cause in causes]
    prior = shares([cause.share for cause in causes], guide.visits, seen)
    widest = max(len(item.outcomes) for item in guide.questions)
    chances = np.zeros((len(guide.questions), len(causes), widest))
    for number, question in enumerate(guide.questions):
        for row, cause in enumerate(causes):
            made = _row(guide, counts, question, cause.id)
            chances[number, row, : len(made)] = made
    minutes = np.array([cause.minutes for cause in causes])
    at = {question.id: number for number, question in enumerate(guide.questions)}
    return FaultTables(guide, counts, np.array(prior), chances, minutes, at)


def _row(guide: FaultGuide, counts: FaultCounts, question: Question, cause: str) -> Sequence[float]:
    usual = question.row(cause)
    counted = counts.outcomes.get((question.id, cause))
    if not counted:
        return usual
    return shares(usual, guide.trials, [counted.get(item.id, 0) for item in question.outcomes])


def count_faults(guide: FaultGuide, found: Sequence[tuple[str, FaultFound]]) -> FaultCounts:
    """Add up (visit, fault found in it)."""
    causes: Counter[str] = Counter()
    outcomes: dict[tuple[str, str], Counter[str]] = {}
    visits: set[str] = set()
    known = {cause.id for cause in guide.causes}
    for visit, item in found:
        if item.guide != guide.id or item.cause not in known:
            continue
        visits.add(visit)
        causes[item.cause] += 1
        for question, outcome in _told(guide, item):
            outcomes.setdefault((question, item.cause), Counter())[outcome] += 1
    counted = sum(causes.values())
    return FaultCounts(len(visits), counted, len(found) - counted, causes, outcomes)


def _told(guide: FaultGuide, item: FaultFound) -> list[tuple[str, str]]:
    """What the record says of each question; an outcome that the guide does not know is passed
    over, and so is a symptom that was looked for in vain."""
    said = dict.fromkeys(item.symptoms, YES) | dict(item.checks)
    told = []
    for question in guide.questions:
        outcome = said.get(question.id, NO if question.is_symptom else UNCLEAR)
        if any(outcome == one.id for one in question.outcomes):
            told.append((question.id, outcome))
    return told


def faults_of(entries: Sequence[Entry]) -> tuple[FaultFound, ...]:
    """The faults that one visit's entries of this kind add up to. Raises IntegrityError."""
    known: tuple[FaultFound, ...] = ()
    for entry in entries:
        try:
            known = with_found(known, entry)
        except (KeyError, TypeError, ValueError):
            raise IntegrityError(
                f"visit {entry.visit}: entry {entry.seq} ({entry.kind}) lacks what it needs; "
                "bring the database back from a copy"
            ) from None
    return known


def learned(guide: FaultGuide, *, store: Store) -> FaultCounts:
    """What the closed visits of ``store`` teach; a record that was altered since teaches nothing.
    Raises StorageError, IntegrityError (altered beyond reading)."""
    by_visit: dict[str, list[Entry]] = {}
    for entry in store.closed_entries(KIND):
        by_visit.setdefault(entry.visit, []).append(entry)
    found: list[tuple[str, FaultFound]] = []
    altered = 0
    for visit, entries in by_visit.items():
        if all(map(unaltered, entries)):
            found += [(visit, item) for item in faults_of(entries)]
        else:
            altered += len(entries)
    made = count_faults(guide, found)
    return replace(made, skipped=made.skipped + altered)
