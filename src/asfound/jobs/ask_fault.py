"""Texts to what is known of a fault: the same for the command line and for the page's address."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from asfound.errors import UsageError
from asfound.jobs.find_fault import SURE, Evidence
from asfound.model.fault_guide import NO, OTHER, UNCLEAR, YES, FaultGuide

MOST_STEPS = 200


@dataclass(frozen=True, slots=True)
class AskFault:
    """What was typed. ``symptoms``: ids of those that are there, ``without``: of those that are
    not; ``checked``: "id=outcome" in the order made; ``tried``: causes repaired in vain."""

    symptoms: Sequence[str] = ()
    without: Sequence[str] = ()
    checked: Sequence[str] = ()
    tried: Sequence[str] = ()


def ask_fault(asked: AskFault, guide: FaultGuide) -> Evidence:
    """What is known. Raises UsageError that names what is off and what may be written."""
    symptoms = [item.id for item in guide.symptoms]
    reported = [(_known(name, symptoms, "symptom"), YES) for name in _tidy(asked.symptoms)]
    reported += [(_known(name, symptoms, "symptom"), NO) for name in _tidy(asked.without)]
    checked = [_checked(text, guide) for text in _tidy(asked.checked)]
    causes = [item.id for item in guide.causes if item.id != OTHER]
    tried = tuple(dict.fromkeys(_known(name, causes, "cause") for name in _tidy(asked.tried)))
    seen: dict[str, str] = {}
    for name, outcome in (*reported, *checked):
        if name in seen:
            same = "twice" if seen[name] == outcome else "with two outcomes"
            raise UsageError(f"{name} was given {same}; give it once")
        seen[name] = outcome
    return Evidence(tuple(reported), tuple(checked), tried)


def typed(evidence: Evidence) -> AskFault:
    """The texts that ``ask_fault`` reads as ``evidence``."""
    return AskFault(
        tuple(name for name, outcome in evidence.reported if outcome == YES),
        tuple(name for name, outcome in evidence.reported if outcome == NO),
        tuple(f"{name}={outcome}" for name, outcome in evidence.checked),
        evidence.tried,
    )


def ask_sure(text: str) -> float:
    """The chance [1] that is sure enough, from "90%" or "" (SURE). Raises UsageError."""
    if not text.strip():
        return SURE
    try:
        share = float(text.strip().removesuffix("%")) / 100
    except ValueError:
        share = 0.0
    if not 0.5 <= share < 1:
        raise UsageError(f"sure: {text.strip()!r} is no share from 50% to below 100%; write 90%")
    return share


def _tidy(texts: Sequence[str]) -> list[str]:
    found = [text.strip() for text in texts]
    if len(found) > MOST_STEPS:
        raise UsageError(f"{len(found)} entries are more than {MOST_STEPS}; give fewer")
    return [text for text in found if text]


def _checked(text: str, guide: FaultGuide) -> tuple[str, str]:
    name, sign, outcome = (part.strip() for part in text.partition("="))
    if not sign or not outcome:
        raise UsageError(f"{text!r}: write a check and its outcome, look-at-fuse=blown")
    question = guide.question(_known(name, [item.id for item in guide.questions], "check"))
    outcomes = [*(item.id for item in question.outcomes), UNCLEAR]
    return name, _known(outcome, outcomes, f"outcome of {name}")


def _known(name: str, known: Sequence[str], what: str) -> str:
    if name in known:
        return name
    near = get_close_matches(name, known, n=1)
    if near:
        raise UsageError(f"no {what} {name!r}; did you mean {near[0]}?")
    if len(known) <= 10:
        raise UsageError(f"no {what} {name!r}; there are {', '.join(known)}")
    raise UsageError(f"no {what} {name!r}; `asfound fault list` shows all of them")
