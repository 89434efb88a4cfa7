"""Sure or doubt: two independent looks at one value must agree, and strongly enough."""

from __future__ import annotations

from dataclasses import dataclass, replace

from rapidfuzz.distance import Levenshtein

from asfound.calc.look_alikes import open_character, other_spellings
from asfound.calc.parse_value import Parsed, nearest_gap
from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.menu_map import Field
from asfound.model.reading import State
from asfound.model.values import problem

_FIGURES = set("0123456789.,:/+-−–")


UNANIMOUS = 0.35
"""Strength that two of three looks must reach when all three say the same."""


@dataclass(frozen=True, slots=True)
class Look:
    """One recognition of a value: its text, what it parses to, and its characters' scores.

    ``known``: the factory value of something that cannot be set, and it looks like that.
    """

    text: str
    scores: tuple[float, ...]
    parsed: Parsed
    known: bool = False

    def strength(self, kind: FieldType) -> float:
        """Certainty of the characters that carry the value, 0..1.

        Figures and free text hang on every single character, so the weakest one speaks; a
        word from a fixed list is carried by all its letters together.
        """
        pairs = list(zip(self.text, self.scores, strict=True))
        if isinstance(kind, Choice | Switch) or _is_word(kind, self.parsed.value):
            letters = [s for c, s in pairs if c.isalnum()]
            return sum(letters) / len(letters) if letters else 0.0
        if isinstance(kind, Number | Level | Time | Date | IPv4):
            return min((s for c, s in pairs if c in _FIGURES), default=0.0)
        return min((s for c, s in pairs if not c.isspace()), default=0.0)


@dataclass(frozen=True, slots=True)
class Judgement:
    """What looks add up to; ``confidence``: how likely ``value`` is right, 0..1."""

    state: State
    value: str | None
    candidates: tuple[str, ...]
    reason: str = ""
    confidence: float | None = None


def judge(kind: FieldType, first: Look, second: Look) -> Judgement:
    """Sure only when both looks parse to the same value and the weakest character holds.

    Of two looks at free text that differ by spaces alone, the one with more of them is taken.
    """
    a, b = first.parsed, second.parsed
    candidates = tuple(
        dict.fromkeys(v for v in (a.value, b.value, *a.candidates, *b.candidates) if v is not None)
    )
    if not candidates:
        seen = first.text.strip() or second.text.strip()
        reason = f"{seen!r} is no value of this field" if seen else "nothing legible there"
        return Judgement(State.UNREAD, None, (), reason)
    best = candidates[0]
    if a.value is None or b.value is None:
        return Judgement(State.DOUBT, best, candidates, "not quite a value of this field")
    if a.value != b.value and _open(kind) and _close_up(a.value) == _close_up(b.value):
        # A space is easily overlooked and hardly ever seen where there is none.
        best = max(a.value, b.value, key=len)
    elif a.value != b.value:
        return Judgement(State.DOUBT, best, candidates, "two looks read different values")
    low, high = sorted((first.strength(kind), second.strength(kind)))
    known = first.known and second.known
    need_low, need_high = (0.3, 0.5) if known else _needs(kind, best)
    if low < need_low or high < need_high:
        return Judgement(State.DOUBT, best, candidates, f"faint: certainty {low:.2f}")
    alike = tuple(look for look in (first, second) if look.parsed.value == best)
    if _open(kind) and not known and (odd := _open_character(kind, alike)):
        more = tuple(one for one in other_spellings(best) if problem(kind, one) is None)
        every = tuple(dict.fromkeys((*candidates, *more)))
        return Judgement(State.DOUBT, best, every, f"look-alike character {odd!r}")
    return Judgement(State.SURE, best, candidates)


def third_opinion(
    kind: FieldType, looks: tuple[Look, ...], third: Look, before: Judgement
) -> Judgement:
    """Sure when the third look agrees with one of the others and the odd one out is weak.

    Free text is outvoted only on a space that one look missed; else a contrary look stays a
    reason to ask.
    """
    all_three = (*looks, third)
    values = {look.parsed.value for look in all_three}
    if not _open(kind) and len(values) == 1 and None not in values:
        # Three looks that say the same bear each other out, though each alone be faint.
        _, middle, strongest = sorted(look.strength(kind) for look in all_three)
        if middle >= UNANIMOUS and strongest >= 2 * UNANIMOUS:
            return replace(before, state=State.SURE, reason="")
    for one, other in (looks, looks[::-1]):
        judged = judge(kind, one, third)
        if judged.state is not State.SURE:
            continue
        seen = other.parsed.value
        contrary = seen not in (None, judged.value)
        # A space is easily overlooked and hardly ever seen where there is none.
        spaces_only = (
            contrary
            and _close_up(seen) == _close_up(judged.value)
            and len(seen or "") < len(judged.value or "")
        )
        if spaces_only or (not contrary and (seen is not None or not _open(kind))):
            return judged
        if contrary and not _open(kind) and other.strength(kind) < 0.5:
            return judged
    more = third.parsed.candidates
    return replace(before, candidates=tuple(dict.fromkeys((*before.candidates, *more))))


def nearly_known(field: Field, value: str) -> str | None:
    """The factory value of something that cannot be set, where ``value`` differs from it by a
    letter in four or less: a model's name hardly ever is nearly another's. Versions differ by a
    figure, so nothing is said of values with figures."""
    if not isinstance(field.type, ReadOnly):
        return None
    for factory in (field.default, *(known for _, known in field.defaults)):
        if not factory or any(map(str.isdigit, factory)) or value == factory:
            continue
        if 0 < Levenshtein.distance(_close_up(value), _close_up(factory)) <= len(factory) // 4:
            return factory
    return None


def _close_up(value: str | None) -> str:
    return "".join((value or "").split())


def _open(kind: FieldType) -> bool:
    return isinstance(kind, Text | Host | ReadOnly)


def _is_word(kind: FieldType, value: str | None) -> bool:
    return isinstance(kind, Number) and value in kind.words


def _needs(kind: FieldType, value: str) -> tuple[float, float]:
    """(weaker look, stronger look): the strength both must reach."""
    if isinstance(kind, Secret):
        return (0.0, 0.0)
    if isinstance(kind, Choice | Switch) or _is_word(kind, value):
        gap = nearest_gap(kind, value)
        return (0.4, 0.5) if gap >= 3 else (0.5, 0.65) if gap == 2 else (0.7, 0.85)
    return (0.6, 0.85)


def _open_character(kind: FieldType, looks: tuple[Look, ...]) -> str:
    alphabet = kind.alphabet if isinstance(kind, Text) else ""
    if isinstance(kind, ReadOnly) and kind.what in ("clock", "version"):
        alphabet = "0123456789.:/- "
    found = [open_character(look.text, look.scores, alphabet) for look in looks]
    return next(filter(None, found), "")
