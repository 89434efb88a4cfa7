"""Finding a fault as its page shows it: what is known stands in the address, and every answer is
a link to the next one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from urllib.parse import parse_qsl, urlencode

from asfound.errors import UsageError
from asfound.jobs.ask_fault import AskFault, ask_fault, ask_sure, typed
from asfound.jobs.fault_tables import FaultTables, fault_tables, learned
from asfound.jobs.find_fault import Evidence, FaultView, FindFault, NextCheck, find_fault
from asfound.jobs.visit_journal import load_visit
from asfound.model.caution import Caution
from asfound.model.fault_guide import OTHER, UNCLEAR, FaultGuide
from asfound.model.visit import VisitState
from asfound.web.services import Services

PATH = "/bench/fault"
LONGEST = 8000
"""Letters of what is known, as a form sends it."""
CAUSES = 8


@dataclass(frozen=True, slots=True)
class FaultAsk:
    """What stands in the address; ``pick``: another check than the first was chosen."""

    symptoms: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    checked: tuple[str, ...] = ()
    tried: tuple[str, ...] = ()
    sure: str = ""
    visit: str = ""
    pick: str = ""

    @classmethod
    def of(cls, pairs: Sequence[tuple[str, str]]) -> FaultAsk:
        """From an address's names and values. What was looked at later counts, not what was
        ticked before."""
        some = [(name, value.strip()) for name, value in pairs if value.strip()]
        checked = tuple(value for name, value in some if name == "checked")
        later = {text.partition("=")[0].strip() for text in checked}

        def named(wanted: str) -> tuple[str, ...]:
            found = (value for name, value in some if name == wanted and value not in later)
            return tuple(dict.fromkeys(found))

        single = dict(some)
        return cls(
            named("symptom"),
            named("without"),
            checked,
            named("tried"),
            single.get("sure", ""),
            single.get("visit", ""),
            single.get("pick", ""),
        )

    @classmethod
    def query(cls, text: str) -> FaultAsk:
        """From an address's query as a form sends it. Raises UsageError."""
        if len(text) > LONGEST:
            raise UsageError("what is known of the fault is too long; begin anew")
        return cls.of(parse_qsl(text))

    @property
    def pairs(self) -> list[tuple[str, str]]:
        """Names and values for an address, the chosen check left out."""
        made = [("symptom", one) for one in self.symptoms]
        made += [("without", one) for one in self.without]
        made += [("checked", one) for one in self.checked]
        made += [("tried", one) for one in self.tried]
        return made + [(k, v) for k, v in (("sure", self.sure), ("visit", self.visit)) if v]

    def address(self, pick: str = "") -> str:
        """The page's address with this known."""
        query = urlencode([*self.pairs, *([("pick", pick)] if pick else [])])
        return f"{PATH}?{query}#answer" if query else PATH

    def known(self, guide: FaultGuide) -> Evidence:
        """What is known. Raises UsageError."""
        return ask_fault(AskFault(self.symptoms, self.without, self.checked, self.tried), guide)

    def with_outcome(self, check: str, outcome: str) -> FaultAsk:
        """One check more."""
        return replace(self, checked=(*self.checked, f"{check}={outcome}"), pick="")

    def with_tried(self, cause: str) -> FaultAsk:
        """One repair in vain more."""
        return replace(self, tried=(*self.tried, cause), pick="")


@dataclass(frozen=True, slots=True)
class Way:
    """A link: where it leads, in words, and the chance [1] of it (None: has none)."""

    address: str
    words: str
    chance: float | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """A step so far: what was asked, what was told, and the address without it."""

    words: str
    told: str
    without: str


@dataclass(frozen=True)
class CheckView:
    """A check with its answers as links; ``place`` and ``tools`` in words."""

    check: NextCheck
    place: str
    tools: tuple[str, ...]
    cautions: tuple[Caution, ...]
    answers: tuple[Way, ...]


@dataclass(frozen=True)
class FaultAnswer:
    """What came out, and where it leads."""

    view: FaultView
    check: CheckView | None
    others: tuple[tuple[NextCheck, str], ...]
    repair_cautions: tuple[Caution, ...]
    in_vain: str
    steps: tuple[Taken, ...]

    @property
    def undo(self) -> str:
        """One step back."""
        return self.steps[-1].without


@dataclass(frozen=True)
class FaultPage:
    """The page: what the address says, the guide with what was learned, the visit (None: none was
    named), and the answer (None: nothing is known yet)."""

    ask: FaultAsk
    tables: FaultTables
    visit: VisitState | None
    answer: FaultAnswer | None

    @property
    def asked(self) -> frozenset[str]:
        """Symptoms that were looked for since: they stand among the steps."""
        return frozenset(text.partition("=")[0] for text in self.ask.checked)

    @property
    def query(self) -> str:
        """What is known, for a form that records it."""
        return urlencode([pair for pair in self.ask.pairs if pair[0] != "visit"])


def fault_tables_of(services: Services) -> FaultTables:
    """The guide with what closed visits taught. Raises InputError, StorageError."""
    guide = services.shelf.faults()
    return fault_tables(guide, learned(guide, store=services.desk.store))


def load_fault(ask: FaultAsk, services: Services, answered: bool = True) -> FaultPage:
    """The page; ``answered`` False leaves the answer out. Raises UsageError, NotFound (no such
    visit), InputError, StorageError, IntegrityError."""
    tables = fault_tables_of(services)
    desk = services.desk
    visit = load_visit(ask.visit, store=desk.store, blobs=desk.blobs) if ask.visit else None
    if not answered:
        return FaultPage(ask, tables, visit, None)
    evidence = ask.known(tables.guide)
    if not evidence.steps and not evidence.tried:
        return FaultPage(ask, tables, visit, None)
    # As the job has it, so that every address says the same thing in the same way.
    told = typed(evidence)
    kept = replace(
        ask, symptoms=tuple(told.symptoms), without=tuple(told.without),
        checked=tuple(told.checked), tried=tuple(told.tried),
    )  # fmt: skip
    view = find_fault(FindFault(tables, evidence, ask_sure(ask.sure)))
    return FaultPage(kept, tables, visit, _answer(kept, tables, view, evidence, services))


def _answer(
    ask: FaultAsk, tables: FaultTables, view: FaultView, evidence: Evidence, services: Services
) -> FaultAnswer:
    cautions = services.shelf.cautions()
    picked = [one for one in view.checks if one.question.id == ask.pick]
    check = next(iter(picked or view.checks), None)
    return FaultAnswer(
        view,
        _check(ask, tables.guide, check, cautions) if check is not None else None,
        tuple((one, ask.address(one.question.id)) for one in view.checks[:CAUSES]),
        tuple(cautions[name] for name in view.repair.cautions if name in cautions),
        ask.with_tried(view.repair.id).address() if view.repair.id != OTHER else "",
        _taken(ask, tables.guide, evidence),
    )


def _check(
    ask: FaultAsk, guide: FaultGuide, check: NextCheck, known: Mapping[str, Caution]
) -> CheckView:
    question = check.question
    answers = [
        Way(ask.with_outcome(question.id, item.id).address(), item.title, chance)
        for item, chance in zip(question.outcomes, check.chances, strict=True)
    ]
    answers.append(Way(ask.with_outcome(question.id, UNCLEAR).address(), "could not tell"))
    return CheckView(
        check,
        next((one.title for one in guide.places if one.id == question.place), ""),
        tuple(one.title for one in guide.tools if one.id in question.tools),
        tuple(known[name] for name in question.cautions if name in known),
        tuple(answers),
    )


def _taken(ask: FaultAsk, guide: FaultGuide, evidence: Evidence) -> tuple[Taken, ...]:
    made: list[Taken] = []
    for name, outcome in evidence.reported:
        fewer = replace(
            ask,
            symptoms=tuple(one for one in ask.symptoms if one != name),
            without=tuple(one for one in ask.without if one != name),
        )
        question = guide.question(name)
        made.append(Taken(question.title, question.told(outcome), fewer.address()))
    for number, (name, outcome) in enumerate(evidence.checked):
        fewer = replace(ask, checked=(*ask.checked[:number], *ask.checked[number + 1 :]))
        question = guide.question(name)
        made.append(Taken(question.title, question.told(outcome), fewer.address()))
    for name in evidence.tried:
        fewer = replace(ask, tried=tuple(one for one in ask.tried if one != name))
        made.append(Taken(guide.cause(name).title, "repaired in vain", fewer.address()))
    return tuple(made)
