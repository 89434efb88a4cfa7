"""Find the fault: chances of causes after what was seen, and the check to make next."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from asfound.calc.fault_chances import (
    Figures,
    entropy_bits,
    gains_bits,
    minutes_after,
    posterior,
    repair_minutes,
)
from asfound.jobs.fault_tables import FaultTables
from asfound.model.fault_guide import OTHER, UNCLEAR, Cause, Question

SURE = 0.9
"""Chance [1] from which a cause is repaired without a further check (own choice)."""
LEAST_BITS = 0.01
"""A check that tells less is not offered (own choice)."""
LEVEL = 0.9
"""Chance with which a cause's share lies between its bounds."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known: (symptom, outcome) as reported, (symptom or check, outcome) in the order in
    which somebody went and looked, and causes that were repaired in vain."""

    reported: tuple[tuple[str, str], ...] = ()
    checked: tuple[tuple[str, str], ...] = ()
    tried: tuple[str, ...] = ()

    @property
    def steps(self) -> tuple[tuple[str, str], ...]:
        """All of it, in order."""
        return (*self.reported, *self.checked)


@dataclass(frozen=True, slots=True)
class LikelyCause:
    """A cause, its chance [1] now, and its share [1] of all faults with bounds."""

    cause: Cause
    chance: float
    share: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class NextCheck:
    """A check not made yet: ``minutes`` with ways and fetching, ``bits`` that it tells on average,
    ``saves`` expected minutes against repairing without it (below 0: it costs more), and the
    chance [1] of each outcome."""

    question: Question
    minutes: float
    bits: float
    saves: float
    chances: tuple[float, ...]

    @property
    def bits_a_minute(self) -> float:
        """What it is ranked by."""
        return self.bits / self.minutes


class FaultVerdict(StrEnum):
    """What to do: make the next check; repair the cause that is sure enough; repair the one that
    a try costs least, because no check is worth its minutes, or because none is left; or take it
    for none of the causes listed."""

    CHECK = "check"
    SURE = "sure"
    TRY = "try"
    NONE_LEFT = "no-check-left"
    UNLISTED = "unlisted"


@dataclass(frozen=True)
class FaultView:
    """Causes, likeliest first; checks, most bits a minute first; ``repair``: the cause to repair
    first if no further check is made, ``minutes``: expected then until the right one is."""

    verdict: FaultVerdict
    causes: tuple[LikelyCause, ...]
    checks: tuple[NextCheck, ...]
    repair: Cause
    bits: float
    bits_before: float
    minutes: float
    note: str


@dataclass(frozen=True)
class FindFault:
    """``sure``: the chance [1] that is enough."""

    tables: FaultTables
    evidence: Evidence = Evidence()
    sure: float = SURE


def find_fault(request: FindFault) -> FaultView:
    """Weigh what is known. Raises NotFound for ids that the guide does not know."""
    tables, evidence = request.tables, request.evidence
    chances = chances_of(tables, evidence)
    checks = next_checks(tables, evidence, chances)
    causes = _likely(tables, chances)
    repair = first_repair(tables, chances)
    verdict = _verdict(causes, checks, request.sure)
    if verdict is FaultVerdict.SURE:
        repair = causes[0].cause
    return FaultView(
        verdict,
        causes,
        checks,
        repair,
        entropy_bits(chances),
        entropy_bits(tables.prior),
        float(repair_minutes(chances, tables.minutes)),
        _note(verdict, causes, checks, repair),
    )


def chances_of(tables: FaultTables, evidence: Evidence) -> Figures:
    """The chance [1] of each cause (C,), in the guide's order. Raises NotFound."""
    guide = tables.guide
    seen = [
        tables.chances[tables.at[name], :, guide.question(name).index(outcome)]
        for name, outcome in ((guide.question(name).id, told) for name, told in evidence.steps)
        if outcome != UNCLEAR
    ]
    tried = {guide.cause(name).id for name in evidence.tried if name != OTHER}
    left = np.array([0.0 if cause.id in tried else 1.0 for cause in guide.causes])
    return posterior(tables.prior, [*seen, left])


def next_checks(tables: FaultTables, evidence: Evidence, chances: Figures) -> tuple[NextCheck, ...]:
    """What was not asked yet and tells something, most bits a minute first."""
    guide = tables.guide
    asked = {name for name, _ in evidence.steps}
    left = [item for item in guide.questions if item.id not in asked]
    if not left:
        return ()
    rows = tables.chances[[tables.at[item.id] for item in left]]
    bits = gains_bits(chances, rows)
    now = float(repair_minutes(chances, tables.minutes))
    after = minutes_after(chances, rows, tables.minutes)
    each = np.einsum("c,qco->qo", chances, rows)
    place, tools = _whereabouts(tables, evidence)
    made = []
    for number, item in enumerate(left):
        if bits[number] < LEAST_BITS:
            continue
        minutes = guide.minutes_for(item, place, tools)
        saves = now - float(after[number]) - minutes
        outcomes = tuple(float(one) for one in each[number, : len(item.outcomes)])
        made.append(NextCheck(item, minutes, float(bits[number]), saves, outcomes))
    # Rounded, so that the last bit of a figure never decides the order; ids do.
    return tuple(sorted(made, key=lambda one: (-round(one.bits_a_minute, 9), one.question.id)))


def _whereabouts(tables: FaultTables, evidence: Evidence) -> tuple[str, frozenset[str]]:
    """Where whoever checks stands, and the tools that were fetched."""
    place, tools = "", set()
    for name, _ in evidence.checked:
        question = tables.guide.question(name)
        place = question.place or place
        tools |= set(question.tools)
    return place, frozenset(tools)


def first_repair(tables: FaultTables, chances: Figures) -> Cause:
    """The listed cause with most chance a minute of repair: the cheapest to try first."""
    worth = chances / tables.minutes
    # "Something else" is the last, and there is nothing to repair about it.
    return tables.guide.causes[int(np.argmax(worth[:-1]))]


def _likely(tables: FaultTables, chances: Figures) -> tuple[LikelyCause, ...]:
    made = [
        LikelyCause(cause, float(chance), float(share), *tables.bounds(cause.id, LEVEL))
        for cause, chance, share in zip(tables.guide.causes, chances, tables.prior, strict=True)
    ]
    return tuple(sorted(made, key=lambda one: (-round(one.chance, 12), one.cause.id)))


def _verdict(
    causes: tuple[LikelyCause, ...], checks: tuple[NextCheck, ...], sure: float
) -> FaultVerdict:
    first = causes[0]
    unlisted = first.cause.id == OTHER
    if first.chance >= sure:
        return FaultVerdict.UNLISTED if unlisted else FaultVerdict.SURE
    if any(check.saves > 0 for check in checks):
        return FaultVerdict.CHECK
    if unlisted:
        return FaultVerdict.UNLISTED
    return FaultVerdict.TRY if checks else FaultVerdict.NONE_LEFT


def _note(
    verdict: FaultVerdict,
    causes: tuple[LikelyCause, ...],
    checks: tuple[NextCheck, ...],
    repair: Cause,
) -> str:
    first = causes[0]
    match verdict:
        case FaultVerdict.SURE:
            return f"sure enough, {first.chance:.0%}: {first.cause.title}"
        case FaultVerdict.UNLISTED:
            return f"most likely none of the causes listed, {first.chance:.0%}"
        case FaultVerdict.TRY:
            return f"no check is worth its minutes now; repair first: {repair.title}"
        case FaultVerdict.NONE_LEFT:
            return f"no check is left that tells anything; repair first: {repair.title}"
    question = checks[0].question
    if question.is_symptom:
        return f"look next whether this is so: {question.title}"
    return f"check next: {question.title}"
