"""How causes, checks and repairs look on the command line, and as JSON."""

from __future__ import annotations

import shlex
import textwrap
from collections.abc import Mapping, Sequence

from asfound.cli import output
from asfound.jobs.ask_fault import typed
from asfound.jobs.fault_tables import FaultCounts, FaultTables
from asfound.jobs.find_fault import Evidence, FaultVerdict, FaultView, FindFault, NextCheck
from asfound.model.caution import Caution
from asfound.model.fault_guide import OTHER, UNCLEAR, Cause, FaultGuide, Question

FORMAT = "asfound-fault/1"
LIST_FORMAT = "asfound-fault-list/1"
CAUSES, CHECKS = 8, 5
"""Rows shown."""
WIDTH = 96
BAR = 20

Json = dict[str, object]


def show(request: FindFault, view: FaultView, cautions: Mapping[str, Caution]) -> None:
    """Causes, the next checks, and what to do."""
    guide = request.tables.guide
    output.say(learned_text(request.tables.counts))
    show_causes(view, CAUSES)
    if view.checks:
        rows = [
            (
                one.question.title, f"{one.minutes:g}", f"{one.bits:.2f}",
                f"{one.bits_a_minute:.3f}", f"{one.saves:+.0f}", one.question.id,
            )
            for one in view.checks[:CHECKS]
        ]  # fmt: skip
        heads = ("Next check", "Minutes", "Bits", "Bits a minute", "Saves min", "")
        output.table(heads, rows, right=(1, 2, 3, 4))
    output.say()
    output.say(view.note, style="bold")
    if view.verdict is not FaultVerdict.CHECK:
        show_repair(view, cautions)
    if view.checks:
        show_check(view.checks[0], guide, cautions)
    output.say()
    check = view.checks[0].question.id if view.checks else "CHECK"
    output.say(f"go on: {command(request.evidence)} --checked {check}=OUTCOME")


def learned_text(counts: FaultCounts) -> str:
    """What the figures rest on, in one line."""
    left = f"; {output.count(counts.skipped, 'record')} left out" if counts.skipped else ""
    if not counts.faults:
        return f"figures of the guide alone: no closed visit recorded a fault yet{left}"
    faults = output.count(counts.faults, "fault")
    return f"learned from {faults} in {output.count(counts.visits, 'closed visit')}{left}"


def show_causes(view: FaultView, most: int) -> None:
    """The likeliest causes, with bars."""
    rows = [
        (
            f"{one.chance:.1%}", "#" * round(one.chance * BAR), one.cause.title,
            f"{one.share:.1%} ({one.low:.1%} to {one.high:.1%})", one.cause.id,
        )
        for one in view.causes[:most]
    ]  # fmt: skip
    output.table(("Chance", "", "Cause", "Of all faults", ""), rows, right=(0,))
    rest = view.causes[most:]
    if rest:
        others = output.count(len(rest), "other")
        output.say(f"{sum(one.chance for one in rest):.1%} in {others}")


def show_repair(view: FaultView, cautions: Mapping[str, Caution]) -> None:
    """What to repair, with its cautions."""
    cause = view.causes[0].cause if view.verdict is FaultVerdict.UNLISTED else view.repair
    output.say(f"REPAIR  {cause.title}   about {cause.minutes:g} min")
    _paragraph(cause.repair)
    show_cautions(cause.cautions, cautions)


def show_check(
    check: NextCheck, guide: FaultGuide, cautions: Mapping[str, Caution], numbered: bool = False
) -> None:
    """A check, how it is made and what it may show; ``numbered``: by keys, else by ids."""
    question = check.question
    what = "LOOK WHETHER" if question.is_symptom else "CHECK"
    output.say(f"{what}  {question.title}   about {check.minutes:g} min")
    _paragraph(question.how)
    if where := _where(question, guide):
        _paragraph(where)
    show_cautions(question.cautions, cautions)
    wide = max(len(item.id) for item in question.outcomes)
    for number, item in enumerate(question.outcomes, 1):
        name = f"{number}" if numbered else f"{item.id:{wide}}"
        output.say(f"      {name}  {check.chances[number - 1]:4.0%}  {item.title}")
    if not numbered:
        output.say(f"      {UNCLEAR}")


def _where(question: Question, guide: FaultGuide) -> str:
    place = next((item.title for item in guide.places if item.id == question.place), "")
    tools = [item.title for item in guide.tools if item.id in question.tools]
    parts = [place, f"with {', '.join(tools)}" if tools else ""]
    return "; ".join(part for part in parts if part)


def show_cautions(names: Sequence[str], cautions: Mapping[str, Caution]) -> None:
    """The cautions that belong to it."""
    for name in names:
        caution = cautions[name]
        output.say(f"      CAUTION  {caution.title}.", style="bold yellow")
        _paragraph(f"{caution.text} Defers to {caution.defers_to}.")


def _paragraph(text: str) -> None:
    for line in textwrap.wrap(
        " ".join(text.split()), WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 6
    ):
        output.say(line)


def command(evidence: Evidence, first: str = "asfound fault") -> str:
    """The command that says what is known so far."""
    told = typed(evidence)
    words = [
        *(f"--symptom {name}" for name in told.symptoms),
        *(f"--without {name}" for name in told.without),
        *(f"--checked {shlex.quote(text)}" for text in told.checked),
        *(f"--tried {name}" for name in told.tried),
    ]
    return " ".join([first, *words])


def fault_data(request: FindFault, view: FaultView) -> Json:
    """The documented form (docs/bench.md)."""
    told = typed(request.evidence)
    guide, counts = request.tables.guide, request.tables.counts
    return {
        "format": FORMAT,
        "guide": {"id": guide.id, "title": guide.title, "source": guide.source},
        "learned": {"visits": counts.visits, "faults": counts.faults, "skipped": counts.skipped},
        "evidence": {
            "symptoms": list(told.symptoms),
            "without": list(told.without),
            "checked": [{"check": a, "outcome": b} for a, b in request.evidence.checked],
            "tried": list(told.tried),
        },
        "verdict": view.verdict,
        "note": view.note,
        "sure": request.sure,
        "bits": view.bits,
        "bits_before": view.bits_before,
        "minutes": view.minutes,
        "repair": _repair_data(view.repair),
        "causes": [
            {
                "id": one.cause.id,
                "title": one.cause.title,
                "chance": one.chance,
                "share": one.share,
                "low": one.low,
                "high": one.high,
            }
            for one in view.causes
        ],
        "checks": [_check_data(one) for one in view.checks],
    }


def _repair_data(cause: Cause) -> Json:
    return {
        "id": cause.id,
        "title": cause.title,
        "minutes": cause.minutes,
        "text": cause.repair,
        "cautions": list(cause.cautions),
    }


def _check_data(check: NextCheck) -> Json:
    question = check.question
    return {
        "id": question.id,
        "title": question.title,
        "how": question.how,
        "minutes": check.minutes,
        "bits": check.bits,
        "bits_a_minute": check.bits_a_minute,
        "saves_min": check.saves,
        "place": question.place,
        "tools": list(question.tools),
        "cautions": list(question.cautions),
        "outcomes": [
            {"id": item.id, "title": item.title, "chance": chance}
            for item, chance in zip(question.outcomes, check.chances, strict=True)
        ],
    }


def show_list(tables: FaultTables) -> None:
    """Every symptom, check and cause of the guide."""
    guide = tables.guide
    output.say(f"{guide.title} ({guide.id}). {guide.source}.")
    output.say(learned_text(tables.counts))
    output.table(
        ("Symptom", "", "Minutes"),
        [(item.id, item.title, f"{item.minutes:g}") for item in guide.symptoms],
        title="Symptoms",
        right=(2,),
    )
    output.table(
        ("Check", "", "Minutes", "Outcomes"),
        [
            (item.id, item.title, f"{item.minutes:g}", ", ".join(one.id for one in item.outcomes))
            for item in guide.checks
        ],
        title="Checks",
        right=(2,),
    )
    rows = []
    for item, share in zip(guide.causes, tables.prior, strict=True):
        low, high = tables.bounds(item.id)
        found = tables.counts.causes.get(item.id, 0)
        rows.append(
            (item.id, item.title, f"{share:.1%}", f"{low:.1%} to {high:.1%}", str(found))
        )  # fmt: skip
    heads = ("Cause", "", "Of all faults", "90 % bounds", "Found")
    output.table(heads, rows, title="Causes", right=(2, 4))
    output.say(f'every check has the outcome "{UNCLEAR}" as well; {OTHER} is always a cause')


def list_data(tables: FaultTables) -> Json:
    """The guide as JSON (docs/bench.md)."""
    guide, counts = tables.guide, tables.counts
    causes = []
    for item, share in zip(guide.causes, tables.prior, strict=True):
        low, high = tables.bounds(item.id)
        found = counts.causes.get(item.id, 0)
        causes.append(
            _repair_data(item)
            | {"share": float(share), "low": low, "high": high, "found": found}
            | {"source": item.source}
        )
    return {
        "format": LIST_FORMAT,
        "guide": {"id": guide.id, "title": guide.title, "source": guide.source},
        "learned": {"visits": counts.visits, "faults": counts.faults, "skipped": counts.skipped},
        "symptoms": [_question_data(item) for item in guide.symptoms],
        "checks": [_question_data(item) for item in guide.checks],
        "causes": causes,
    }


def _question_data(item: Question) -> Json:
    return {
        "id": item.id,
        "title": item.title,
        "how": item.how,
        "minutes": item.minutes,
        "place": item.place,
        "tools": list(item.tools),
        "outcomes": [{"id": one.id, "title": one.title} for one in item.outcomes],
        "cautions": list(item.cautions),
        "source": item.source,
    }
