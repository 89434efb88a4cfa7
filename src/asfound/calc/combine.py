"""Two recognisers on one value: where they agree it is sure, else a person decides.

The first gives texts (looks), the second weighs the values that may stand there. They were
trained apart, on other material: what fools both alike is rare.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from asfound.calc.judge import Judgement, Look
from asfound.calc.look_alikes import SAME_SHAPE, folded, is_code, open_character
from asfound.calc.weigh import Weighed
from asfound.model.kinds import FieldType, Host, ReadOnly, Secret, Text
from asfound.model.reading import State


@dataclass(frozen=True, slots=True)
class Needs:
    """What a value needs to be sure (natural logarithms of odds; see calc/weigh.py)."""

    margin: float
    least: float
    gap: float


AGREED = Needs(2.0, 0.0, 2.0)
"""Both recognisers say the same."""

ALONE = Needs(5.0, 2.5, 1.5)
"""Only the second could make a value of what it saw."""

AGAINST = Needs(7.0, 4.0, 1.0)
"""The first, faintly, says something else."""

OPEN = Needs(1.8, 0.4, 0.7)
"""Both say the same of a free text in which a look-alike stands."""

OPEN_AGAINST = Needs(3.5, 1.5, 0.5)
"""The first reads the free text now this way, now that; the second is certain of one of them."""

CODE = Needs(4.0, 2.0, 0.7)
"""Both say the same of a free text with a word made of look-alikes alone, such as "2SO61": each
of its signs may be another, and no neighbour tells which. ``OPEN`` will do where every look of the
first says the same and strongly."""

OUTVOTED = Needs(6.5, 2.0, 0.5)
"""One look of three reads free text with a look-alike or in another letter case, the others and
the second, by far, agree."""

LONE = Needs(5.0, 2.0, 0.7)
"""Both say the same, the first not strongly, of a free text with a sign whose twin has its shape
and which nothing around it tells: "cam0" or "camO"."""

SHAPED = Needs(3.5, 1.5, 0.7)
"""The same with strong looks, where a sign has a twin of the same shape (O and 0, l and 1): how
strongly the first prefers one of them follows its training. Also where a word of a host's name
ends in an l: names end in figures as often."""

STRONG = 0.95
"""Strength of such a look."""

CONFIRMED = 0.7
"""Margin by which the second must bear out what the first is sure of."""

CONFIRMED_TWIN = 1.5
"""The same for free texts with a character that is drawn like another in many fonts."""

EMPTY, WRITTEN = 0.95, 0.5
"""Chance of nothing above which a blank is believed, and below which a mask is."""

LIKELY = 4.0
"""Gap below which the second recogniser's value is worth naming first."""

_L_ENDS = re.compile(r"[a-z]l(?![a-z0-9])")

FAINT = 0.6
"""Strength below which a contrary look of the first may be overruled."""


def combine(
    kind: FieldType, looks: Sequence[Look], judged: Judgement, weighed: Weighed
) -> Judgement:
    """The state of a value by both recognisers. ``judged``: by the first alone."""
    if isinstance(kind, Secret):
        return _secret(judged, weighed)
    if judged.candidates == ("",) and judged.state is not State.SURE:
        # Not what stands there, but whether anything does.
        return _blank(judged, weighed, "")
    if weighed.value is None:
        return _no_longer(judged, (), "the second look makes no value of it")
    evidence = _evidence(kind, looks, weighed, weighed.value)
    if evidence.value is None:
        candidates = (weighed.value, *evidence.said, *judged.candidates)
        return _doubt(candidates, "a space may be there or not")
    sure = Judgement(
        State.SURE,
        evidence.value,
        tuple(dict.fromkeys((evidence.value, *judged.candidates))),
    )
    if judged.state is State.SURE and judged.value is not None:
        if not evidence.same(judged.value, evidence.value):
            return _contrary(judged, weighed)
        if _confirmed(evidence, weighed):
            return sure
        return _no_longer(judged, weighed.rivals, "another value is nearly as likely")
    return sure if _certain(kind, evidence, weighed) else _contrary(judged, weighed)


def combine_known(
    kind: FieldType,
    looks: Sequence[Look],
    judged: Judgement,
    weighed: Weighed,
    *,
    settled: bool,
) -> Judgement:
    """As ``combine``, for free text whose look-alikes were held against known letters of the same
    menu: ``settled`` when each of them is told apart. Then the second recogniser needs no
    agreement, only nothing against it."""
    found = combine(kind, looks, judged, weighed)
    if found.state is State.SURE or not settled or weighed.value is None:
        return found
    evidence = _evidence(kind, looks, weighed, weighed.value)
    if evidence.value is None or evidence.against or not _holds(weighed, evidence.needs):
        return found
    return Judgement(State.SURE, evidence.value, (evidence.value,))


@dataclass(frozen=True, slots=True)
class _Evidence:
    """``value``: the weighed one with the spaces that most readings have (None: open); ``said``:
    the values of the first's looks, of which ``agree`` are the same and ``against`` are not;
    ``needs``: what free text needs to be sure."""

    open_kind: bool
    value: str | None
    said: tuple[str, ...]
    agree: int
    against: tuple[Look, ...]
    needs: Needs

    def same(self, one: str, other: str) -> bool:
        return _close_up(one) == _close_up(other) if self.open_kind else one == other


def _evidence(
    kind: FieldType, looks: Sequence[Look], weighed: Weighed, likeliest: str
) -> _Evidence:
    open_kind = isinstance(kind, Text | Host | ReadOnly)
    same = _close_up if open_kind else str
    read = [(look, look.parsed.value) for look in looks if look.parsed.value is not None]
    said = tuple(value for _, value in read if value is not None)
    against = tuple(look for look, value in read if same(str(value)) != same(likeliest))
    value = _spaced(likeliest, said) if open_kind else weighed.value
    strong = not against and all(look.strength(kind) >= STRONG for look in looks)
    needs = _open_needs(kind, value or "", strong)
    return _Evidence(open_kind, value, said, len(read) - len(against), against, needs)


def _confirmed(evidence: _Evidence, weighed: Weighed) -> bool:
    """True when the second bears out what the first is sure of."""
    twin = evidence.open_kind and not set(evidence.value or "").isdisjoint("0Oo1lI|")
    enough = weighed.margin >= (CONFIRMED_TWIN if twin else CONFIRMED)
    if evidence.open_kind and evidence.needs is not OPEN:
        enough = _holds(weighed, evidence.needs)
    # A roomier crop may show that free text goes on where its outline ended.
    whole = not evidence.open_kind or weighed.least >= -0.5
    return enough and whole and weighed.gap < 2 * AGREED.gap


def _certain(kind: FieldType, evidence: _Evidence, weighed: Weighed) -> bool:
    """True when the second is sure enough of what the first alone was not."""
    agree, against = evidence.agree, evidence.against
    if evidence.open_kind:
        needs = evidence.needs
        value = evidence.value or ""
        if any(_rivals(look, kind, value) for look in against):
            alone = len(against) == 1 and agree >= 2 and _alike(against[0], value)
            return alone and needs is OPEN and _holds(weighed, OUTVOTED)
        steady = agree >= 2 and agree > 2 * len(against)
        return (steady and _holds(weighed, needs)) or (
            agree > 0 and _holds(weighed, OPEN_AGAINST) and _holds(weighed, needs)
        )
    if agree and not against:
        return _holds(weighed, AGREED)
    if not evidence.said and _holds(weighed, ALONE):
        return True
    faint = all(look.strength(kind) < FAINT for look in against)
    return faint and _holds(weighed, AGAINST)


def _open_needs(kind: FieldType, text: str, strong: bool) -> Needs:
    if is_code(text):
        return (OPEN if SAME_SHAPE.isdisjoint(text) else SHAPED) if strong else CODE
    if not strong and open_character(text, (1.0,) * len(text)):
        return LONE
    return SHAPED if isinstance(kind, Host) and _L_ENDS.search(text) else OPEN


def _rivals(look: Look, kind: FieldType, value: str) -> bool:
    """True for a contrary look at free text that may well be the right one: it differs from
    ``value`` by look-alikes or letter case alone, or is not faint and no mere part of it: signs are
    easily overlooked, and hardly ever seen where there are none."""
    read = look.parsed.value or ""
    longer = look.strength(kind) >= FAINT and _close_up(read) not in _close_up(value)
    return _alike(look, value) or longer


def _alike(look: Look, value: str) -> bool:
    """True for a look that differs from ``value`` by look-alikes or letter case alone."""
    return folded((look.parsed.value or "").casefold()) == folded(value.casefold())


def _contrary(judged: Judgement, weighed: Weighed) -> Judgement:
    """A doubt with both recognisers' values, likeliest first."""
    likely = weighed.gap < LIKELY
    if judged.state is State.UNREAD and not likely:
        return judged
    found = () if weighed.value is None else (weighed.value,)
    first, then = (found, judged.candidates) if likely else (judged.candidates, found)
    reason = {
        State.SURE: "two recognisers read different values",
        State.DOUBT: judged.reason,
        State.UNREAD: "not clear enough to be sure",
    }[judged.state]
    return _doubt((*first, *then, *(weighed.rivals if likely else ())), reason)


def _doubt(candidates: Sequence[str], reason: str) -> Judgement:
    kept = tuple(dict.fromkeys(candidates))[:6]
    return Judgement(State.DOUBT, kept[0], kept, reason)


def _secret(judged: Judgement, weighed: Weighed) -> Judgement:
    if judged.candidates == ("blank",) and judged.state is not State.SURE:
        return _blank(judged, weighed, "blank")
    if judged.state is State.SURE and judged.value == "set" and weighed.empty > WRITTEN:
        reason = "marks stand there, but no writing"
        return replace(judged, state=State.DOUBT, candidates=("set", "blank"), reason=reason)
    return judged


def _blank(judged: Judgement, weighed: Weighed, value: str) -> Judgement:
    """Ink that the first took for a stroke, in which the second sees no writing at all."""
    hidden = "glare" in judged.reason
    if weighed.empty >= EMPTY and not hidden:
        return Judgement(State.SURE, value, (value,))
    return judged


def _close_up(text: str) -> str:
    return "".join(text.split())


def _spaced(seen: str, said: Sequence[str]) -> str | None:
    """The text with the spaces that most readings have; None when that is open.

    A space is easily overlooked and hardly ever seen where there is none: of two readings the one
    with more is taken, unless it is alone against several.
    """
    alike = [seen, *(text for text in said if _close_up(text) == _close_up(seen))]
    longest = max(alike, key=len)
    count = alike.count(longest)
    if count == len(alike) or count >= 2:
        return longest
    return longest if len(alike) == 2 else None


def _holds(weighed: Weighed, needs: Needs) -> bool:
    return (
        weighed.margin >= needs.margin and weighed.least >= needs.least and weighed.gap <= needs.gap
    )


def _no_longer(judged: Judgement, more: Sequence[str], reason: str) -> Judgement:
    """A judgement that was sure, as a doubt; others stay as they are."""
    if judged.state is not State.SURE:
        return judged
    candidates = tuple(dict.fromkeys((*judged.candidates, *more)))
    return replace(judged, state=State.DOUBT, candidates=candidates, reason=reason)
