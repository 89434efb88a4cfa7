"""How many minutes it takes to the right cause, by how the next check is chosen.

Faults are drawn from the shipped guide with noise that the tool does not know of: each vehicle
park has chances of its own scattered about the guide's (Dirichlet), one outcome in ten could not
be told, three in a hundred are wrong, and a driver reports at most two of the symptoms there.
Every way of choosing pays the same minutes for checks, ways, tools and repairs, and goes on after
a repair in vain. "Something else" costs its minutes and ends the search.

  bits a minute   the product's: most bits a minute
  minutes saved   the product's figure beside it: most expected minutes saved, by one step
  likeliest       the check that tells most about the likeliest cause, whatever it takes
  in order        checks in the guide's order, those passed over that tell next to nothing now
  no checks       repairs alone, likeliest first

These end when one cause is sure enough (90 %), or no check is worth its minutes. "Until sure" ones
go on while any check tells something.

Then learning: parks whose causes are as frequent as they like (Dirichlet), 200 closed visits
recorded in each, and new faults met with the shipped shares, with shares learned, and with all
chances learned.

Run: python benchmarks/find_fault.py [faults a park] [--tune]; tuning seeds and test seeds are
apart. Writes benchmarks/results/find_fault.json unless --tune.
"""

from __future__ import annotations

import json
import platform
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from asfound.calc.fault_chances import Figures, gains_bits
from asfound.jobs.fault_tables import FaultTables, count_faults, fault_tables
from asfound.jobs.find_fault import (
    SURE,
    Evidence,
    NextCheck,
    chances_of,
    first_repair,
    next_checks,
)
from asfound.model.fault_found import FaultFound
from asfound.model.fault_guide import NO, OTHER, UNCLEAR, YES, FaultGuide, Question
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.faults_toml import SHIPPED, load_faults
from asfound.version import VERSION
from machine import machine

RESULTS = Path(__file__).parent / "results" / "find_fault.json"
TUNE_SEED, TEST_SEED = 7_000_000, 9_000_000
PARKS = 10
FAULTS = 100
VISITS = 200
SCATTER = 20.0
"""Weight of the guide's chances in a park's own."""
UNTOLD, WRONG = 0.10, 0.03
REPORTED = 2
RELEVANT_BITS = 0.05
"""Below this a check in the guide's order is passed over: nobody measures an antenna for a dark
camera."""

Choose = Callable[[Sequence[NextCheck], FaultTables, Figures], NextCheck | None]


@dataclass(frozen=True)
class Park:
    """Vehicles whose faults follow ``prior`` (C,) and ``chances`` (Q, C, O)."""

    guide: FaultGuide
    prior: Figures
    chances: Figures


@dataclass(frozen=True)
class Case:
    """One fault: the cause's number, what the driver reports, and what each check would show."""

    cause: int
    reported: tuple[tuple[str, str], ...]
    shows: dict[str, str]


@dataclass(frozen=True)
class Walk:
    """How a fault was found: ``minutes``, the checks made, repairs in vain, whether the first
    repair was the right one, and the highest chance [1] before it."""

    minutes: float
    evidence: Evidence
    first_right: bool
    first_chance: float


def park(guide: FaultGuide, rng: np.random.Generator, spread: float | None) -> Park:
    """A park with chances about the guide's; shares of causes as they like with ``spread`` (the
    less, the wilder), as in the guide without."""
    tables = fault_tables(guide)
    chances = tables.chances.copy()
    for question in range(chances.shape[0]):
        for cause in range(chances.shape[1]):
            row = tables.chances[question, cause]
            width = int((row > 0).sum())
            chances[question, cause, :width] = rng.dirichlet(row[:width] * SCATTER)
    prior = tables.prior
    if spread is not None:
        prior = rng.dirichlet(np.full(len(prior), spread))
    return Park(guide, prior, chances)


def case(made: Park, rng: np.random.Generator) -> Case:
    """One fault of the park."""
    guide = made.guide
    cause = int(rng.choice(len(made.prior), p=made.prior))
    there = {}
    for number, question in enumerate(guide.questions):
        row = made.chances[number, cause, : len(question.outcomes)]
        there[question.id] = question.outcomes[int(rng.choice(len(row), p=row / row.sum()))].id
    seen = [item.id for item in guide.symptoms if there[item.id] == YES]
    if not seen:
        # Nobody comes without a complaint: the one that this cause brings most often.
        rows = made.chances[: len(guide.symptoms), cause, 0]
        seen = [guide.symptoms[int(np.argmax(rows))].id]
    named = [str(name) for name in rng.permutation(seen)[:REPORTED]]
    shows = {item.id: _noisy(item, there[item.id], rng) for item in guide.questions}
    return Case(cause, tuple((name, YES) for name in named), shows)


def _noisy(question: Question, outcome: str, rng: np.random.Generator) -> str:
    chance = rng.random()
    if chance < UNTOLD:
        return UNCLEAR
    if chance < UNTOLD + WRONG:
        return str(rng.choice([item.id for item in question.outcomes]))
    return outcome


def bits_a_minute(checks: Sequence[NextCheck], tables: FaultTables, chances: Figures) -> NextCheck:
    """Most bits a minute."""
    return checks[0]


def minutes_saved(checks: Sequence[NextCheck], tables: FaultTables, chances: Figures) -> NextCheck:
    """Most expected minutes saved."""
    return max(checks, key=lambda one: one.saves)


def likeliest(checks: Sequence[NextCheck], tables: FaultTables, chances: Figures) -> NextCheck:
    """What tells most about whether it is the likeliest cause."""
    top = int(np.argmax(chances))
    rest = np.where(np.arange(len(chances)) == top, 0.0, chances)
    pair = np.array([chances[top], rest.sum()])
    rows = tables.chances[[tables.at[one.question.id] for one in checks]]
    others = np.einsum("c,qco->qo", rest / pair[1], rows)
    gains = gains_bits(pair, np.stack([rows[:, top], others], axis=1))
    return checks[int(np.argmax(np.round(gains, 9)))]


def in_order(checks: Sequence[NextCheck], tables: FaultTables, chances: Figures) -> NextCheck:
    """The guide's order, of what tells something now."""
    ranked = sorted(checks, key=lambda one: tables.at[one.question.id])
    return next((one for one in ranked if one.bits >= RELEVANT_BITS), checks[0])


def no_checks(checks: Sequence[NextCheck], tables: FaultTables, chances: Figures) -> None:
    """None."""


WAYS: dict[str, tuple[Choose, bool]] = {
    "bits a minute": (bits_a_minute, True),
    "minutes saved": (minutes_saved, True),
    "likeliest": (likeliest, True),
    "in order": (in_order, True),
    "bits a minute, until sure": (bits_a_minute, False),
    "likeliest, until sure": (likeliest, False),
    "in order, until sure": (in_order, False),
    "no checks": (no_checks, False),
}
"""How the next check is chosen, and whether checking ends when no check is worth its minutes."""
OURS = "bits a minute"


def walk(tables: FaultTables, met: Case, way: str) -> Walk:
    """Check and repair until the right cause is repaired."""
    guide = tables.guide
    evidence = Evidence(met.reported)
    right = guide.causes[met.cause].id
    minutes, repairs, said = 0.0, 0, 0.0
    while True:
        chances = chances_of(tables, evidence)
        check = _chosen(tables, evidence, chances, way)
        if check is not None:
            minutes += check.minutes
            step = (check.question.id, met.shows[check.question.id])
            evidence = replace(evidence, checked=(*evidence.checked, step))
            continue
        target = guide.causes[int(np.argmax(chances))]
        if target.id != OTHER and chances.max() < SURE and way != "no checks":
            target = first_repair(tables, chances)
        minutes += target.minutes
        repairs += 1
        said = said or float(chances.max())
        if target.id in (right, OTHER):
            return Walk(minutes, evidence, repairs == 1 and target.id == right, said)
        evidence = replace(evidence, tried=(*evidence.tried, target.id))


def _chosen(
    tables: FaultTables, evidence: Evidence, chances: Figures, way: str
) -> NextCheck | None:
    choose, weighed = WAYS[way]
    if chances.max() >= SURE:
        return None
    checks = next_checks(tables, evidence, chances)
    if not checks or (weighed and all(one.saves <= 0 for one in checks)):
        return None
    return choose(checks, tables, chances)


def measured(walks: Sequence[Walk]) -> dict[str, float]:
    """Means over many faults; of those where a cause was sure enough: how many, what was said, and
    how often it was right."""
    sure = [one for one in walks if one.first_chance >= SURE]
    return {
        "minutes": round(float(np.mean([one.minutes for one in walks])), 2),
        "checks": round(float(np.mean([len(one.evidence.checked) for one in walks])), 2),
        "first_repair_right": round(float(np.mean([one.first_right for one in walks])), 4),
        "sure": round(len(sure) / len(walks), 4),
        "sure_said": round(float(np.mean([one.first_chance for one in sure] or [0.0])), 4),
        "sure_right": round(float(np.mean([float(one.first_right) for one in sure] or [0.0])), 4),
    }


def ratio(walks: Sequence[Walk], base: Sequence[Walk]) -> dict[str, float]:
    """Minutes against another way's over the same faults, with bounds of 95 % (bootstrap over
    faults, pairs kept together)."""
    mine = np.array([one.minutes for one in walks])
    other = np.array([one.minutes for one in base])
    picks = np.random.default_rng(1).integers(0, len(mine), (2000, len(mine)))
    low, high = np.quantile(mine[picks].sum(axis=1) / other[picks].sum(axis=1), (0.025, 0.975))
    figures = {"ratio": mine.sum() / other.sum(), "ratio_low": low, "ratio_high": high}
    return {name: round(float(value), 3) for name, value in figures.items()}


def compare_ways(guide: FaultGuide, seed: int, faults: int) -> dict[str, dict[str, float]]:
    """Each way over the same faults."""
    tables = fault_tables(guide)
    walks: dict[str, list[Walk]] = {name: [] for name in WAYS}
    for number in range(PARKS):
        rng = np.random.default_rng(seed + number)
        made = park(guide, rng, None)
        for met in [case(made, rng) for _ in range(faults)]:
            for name in WAYS:
                walks[name].append(walk(tables, met, name))
    told = {name: measured(some) for name, some in walks.items()}
    return {name: one | ratio(walks[name], walks[OURS]) for name, one in told.items()}


def learn(guide: FaultGuide, seed: int, faults: int) -> dict[str, dict[str, float]]:
    """What closed visits of parks with other shares are worth."""
    shipped = fault_tables(guide)
    walks: dict[str, list[Walk]] = {}
    bits: dict[str, list[float]] = {}
    for number in range(PARKS):
        rng = np.random.default_rng(seed + 1000 + number)
        made = park(guide, rng, 0.5)
        records = []
        for visit in range(VISITS):
            met = case(made, rng)
            found = walk(shipped, met, OURS)
            records.append((f"v{visit}", _record(guide, met, found)))
        counts = count_faults(guide, records)
        known = {
            "shipped": shipped,
            "shares learned": fault_tables(guide, replace(counts, outcomes={})),
            "all learned": fault_tables(guide, counts),
        }
        for met in [case(made, rng) for _ in range(faults)]:
            for name, tables in known.items():
                walks.setdefault(name, []).append(walk(tables, met, OURS))
                first = chances_of(tables, Evidence(met.reported))[met.cause]
                bits.setdefault(name, []).append(-float(np.log2(first)))
    told = {name: measured(some) for name, some in walks.items()}
    for name, one in told.items():
        one["bits_short_at_start"] = round(float(np.mean(bits[name])), 3)
        one |= ratio(walks[name], walks["shipped"])
    return told


def _record(guide: FaultGuide, met: Case, found: Walk) -> FaultFound:
    cause = guide.causes[met.cause]
    symptoms = tuple(name for name, outcome in met.reported if outcome != NO)
    when = datetime(2026, 1, 1, tzinfo=UTC)
    return FaultFound(
        cause.id, cause.title, guide.id, symptoms, found.evidence.checked, (), "", "bench", when, 1
    )


def main() -> None:
    """Measure, print, and write the figures down."""
    numbers = [int(one) for one in sys.argv[1:] if one.isdecimal()]
    faults = numbers[0] if numbers else FAULTS
    tune = "--tune" in sys.argv
    guide = load_faults(SHIPPED, load_cautions())
    seed = TUNE_SEED if tune else TEST_SEED
    ways = compare_ways(guide, seed, faults)
    learning = learn(guide, seed, faults)
    for title, rows in (("ways", ways), ("learning", learning)):
        print(title)
        for name, row in rows.items():
            print(f"  {name:30}", "  ".join(f"{key} {value:g}" for key, value in row.items()))
    if tune:
        return
    data = {
        "version": VERSION,
        "python": platform.python_version(),
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "machine": machine(),
        "faults": PARKS * faults,
        "visits_learned_from": VISITS,
        "seeds": [seed, seed + 1000],
        "ways": ways,
        "learning": learning,
    }
    RESULTS.write_text(json.dumps(data, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
