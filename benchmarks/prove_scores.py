"""What was found against what was put in, for benchmarks/prove.py."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from asfound.model.finding import Kind
from prove_kinds import edge_off, f1

Spans = list[tuple[Kind, float, float]]


@dataclass(frozen=True)
class Case:
    """One filmed file and the faults that were put in; what was filmed."""

    path: Path
    truth: Spans
    no_trace: bool = False
    what: str = ""


@dataclass(frozen=True)
class Run:
    """What one program found in every case (``unclear``: spans it would not judge), and cost."""

    found: list[Spans]
    unclear: list[Spans]
    cpu_s: float
    wall_s: float


def overlap(one: tuple[Kind, float, float], two: tuple[Kind, float, float]) -> float:
    """Common seconds as a share of the longer of the two."""
    common = min(one[2], two[2]) - max(one[1], two[1])
    return max(0.0, common) / max(one[2] - one[1], two[2] - two[1], 1e-6)


def score(made: Sequence[Case], run: Run, kind: Kind) -> dict[str, object]:
    """Right, missed, wrong and unclear of one kind, with precision and recall."""
    tally: Counter[str] = Counter()
    off = 0.0
    for case, found, unclear in zip(made, run.found, run.unclear, strict=True):
        truth = [item for item in case.truth if item[0] is kind]
        explained = [item for item in case.truth if item[0] is not kind]
        mine = [item for item in found if item[0] is kind]
        for fault in truth:
            doubted = any(item[0] is kind and overlap(item, fault) > 0 for item in unclear)
            hits = [item for item in mine if overlap(item, fault) >= 0.5]
            off = max([off, *(edge_off(item[1:], fault[1:]) for item in hits)])
            if hits:
                tally["right"] += 1
            elif case.no_trace:
                tally["no trace"] += 1
            else:
                tally["unclear" if doubted else "missed"] += 1
        tally["wrong"] += sum(
            all(overlap(item, fault) < 0.5 for fault in truth)
            and not any(kind is Kind.FROZEN and overlap(item, f) >= 0.5 for f in explained)
            for item in mine
        )
        if not truth and any(item[0] is kind for item in unclear):
            tally["unclear without fault"] += 1
    right, wrong = tally["right"], tally["wrong"]
    missed = tally["missed"] + tally["unclear"]
    faults = right + missed
    return {
        "faults": faults,
        **{name: tally[name] for name in ("right", "missed", "unclear", "wrong")},
        "unclear without fault": tally["unclear without fault"],
        "precision": round(right / (right + wrong), 3) if right + wrong else None,
        "recall": round(right / faults, 3) if faults else None,
        "f1": f1(right, missed, wrong),
        "no trace": tally["no trace"],
        "f1 with them": f1(right, missed + tally["no trace"], wrong),
        "most seconds off at an edge": round(off, 2),
    }


def rightly(made: list[Case], run: Run) -> list[set[Kind]]:
    """Kinds of faults that ``run`` rightly found in each case."""
    return [
        {
            kind
            for kind, start, end in found
            for fault in case.truth
            if fault[0] is kind and overlap((kind, start, end), fault) >= 0.5
        }
        for case, found in zip(made, run.found, strict=True)
    ]
