"""Faults found at the keyboard: one check at a time, one key an answer, any step back.

Nothing is written anywhere: what is known is printed as a command when the walk ends, also by
Ctrl-C, so that it can go on later.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from asfound.cli import output
from asfound.cli.fault_show import command, show_causes, show_check, show_repair
from asfound.cli.keys import STOP, Keyboard
from asfound.errors import UsageError
from asfound.jobs.ask_fault import AskFault, ask_fault
from asfound.jobs.fault_tables import FaultTables
from asfound.jobs.find_fault import Evidence, FaultVerdict, FaultView, FindFault, find_fault
from asfound.model.caution import Caution
from asfound.model.fault_guide import OTHER, UNCLEAR, FaultGuide

KEYS = "c could not tell  n another check  r repaired it in vain  u undo  l all causes  q stop"
TOP = 4


@dataclass
class FaultWalk:
    """One walk. ``past``: what was known before each answer; ``offset``: how many checks were
    passed over because they cannot be made now."""

    tables: FaultTables
    cautions: Mapping[str, Caution]
    sure: float
    keyboard: Keyboard
    evidence: Evidence = field(default_factory=Evidence)
    past: list[Evidence] = field(default_factory=list)
    offset: int = 0

    def view(self) -> FaultView:
        """What is known now."""
        return find_fault(FindFault(self.tables, self.evidence, self.sure))

    def take(self, evidence: Evidence) -> None:
        """Go on with what is known now."""
        self.past.append(self.evidence)
        self.evidence, self.offset = evidence, 0


def walk(made: FaultWalk) -> FaultView:
    """Ask until the person stops; returns what is known then. Raises KeyboardInterrupt."""
    try:
        if not made.evidence.steps and not made.evidence.tried:
            _ask_symptoms(made)
        with made.keyboard.listening():
            _ask_checks(made)
        return made.view()
    finally:
        _tell_how_to_go_on(made)


def _tell_how_to_go_on(made: FaultWalk) -> None:
    if not made.evidence.steps and not made.evidence.tried:
        return
    output.say()
    output.say(f"to go on: {command(made.evidence)} --ask")
    cause = made.view().causes[0].cause.id
    note = ' --note "WHAT IT WAS"' if cause == OTHER else ""
    record = command(made.evidence, "asfound visit fault VISIT")
    output.say(f"once it is repaired: {record} --cause {cause}{note}")


def _ask_symptoms(made: FaultWalk) -> None:
    symptoms = made.tables.guide.symptoms
    for number, item in enumerate(symptoms, 1):
        output.say(f"{number:4d}  {item.title}")
    with made.keyboard.listening():
        while True:
            made.keyboard.forget()
            with made.keyboard.typing():
                output.raw("which are there? numbers with blanks, Enter for none: ")
                text = made.keyboard.line()
            try:
                evidence = ask_fault(
                    AskFault(_named(text or "", made.tables.guide)), made.tables.guide
                )
            except UsageError as error:
                output.say(f"  {error}")
                continue
            made.evidence = evidence
            return


def _named(text: str, guide: FaultGuide) -> list[str]:
    """Ids of symptoms by their numbers, each once; ids are taken, too. Raises UsageError."""
    names: list[str] = []
    for word in text.replace(",", " ").split():
        if not word.isascii() or not word.isdecimal():
            names.append(word)
            continue
        number = int(word) if len(word) < 5 else 0
        if not 1 <= number <= len(guide.symptoms):
            raise UsageError(f"{word} is no number from 1 to {len(guide.symptoms)}")
        names.append(guide.symptoms[number - 1].id)
    return list(dict.fromkeys(names))


def _ask_checks(made: FaultWalk) -> None:
    view, fresh = made.view(), True
    while True:
        if fresh:
            _show(made, view)
        key = made.keyboard.key()
        if key == STOP:
            return
        before = (made.evidence, made.offset)
        hint = _press(made, view, key)
        fresh = (made.evidence, made.offset) != before
        if hint:
            output.say(f"  {hint}")
        if fresh:
            view = made.view()


def _press(made: FaultWalk, view: FaultView, key: str) -> str:
    """Do what a key says; returns what to tell the person."""
    check = view.checks[made.offset] if made.offset < len(view.checks) else None
    match key:
        case "u":
            if not made.past:
                return "nothing to undo"
            made.evidence, made.offset = made.past.pop(), 0
        case "r":
            if view.repair.id in made.evidence.tried:
                return "that was said already"
            tried = (*made.evidence.tried, view.repair.id)
            made.take(replace(made.evidence, tried=tried))
        case "l":
            show_causes(view, len(view.causes))
        case "n":
            if made.offset + 1 >= len(view.checks):
                made.offset = 0
                return "that was the last; the first again"
            made.offset += 1
        case _:
            return _answer(made, check.question.id if check else "", key)
    return ""


def _answer(made: FaultWalk, check: str, key: str) -> str:
    if not check:
        return "no check is left: r, u, l or q"
    outcomes = [item.id for item in made.tables.guide.question(check).outcomes]
    if key == "c":
        outcome = UNCLEAR
    elif key.isascii() and key.isdecimal() and 1 <= int(key) <= len(outcomes):
        outcome = outcomes[int(key) - 1]
    else:
        return f"press 1 to {len(outcomes)}, or a letter: {KEYS}"
    told = made.tables.guide.question(check).told(outcome)
    checked = (*made.evidence.checked, (check, outcome))
    made.take(replace(made.evidence, checked=checked))
    return told


def _show(made: FaultWalk, view: FaultView) -> None:
    made.keyboard.forget()
    output.say()
    show_causes(view, TOP)
    output.say()
    output.say(view.note, style="bold")
    if view.verdict is not FaultVerdict.CHECK:
        show_repair(view, made.cautions)
    if made.offset < len(view.checks):
        check = view.checks[made.offset]
        show_check(check, made.tables.guide, made.cautions, numbered=True)
    enter = "  (each with Enter)" if made.keyboard.needs_enter else ""
    output.say(f"  {KEYS}{enter}", style="dim")
