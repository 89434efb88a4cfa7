"""From measured voltages to likely causes, with what spoke for each and what was not told."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from asfound.calc.battery_charge import METER
from asfound.calc.weigh_volts import Truth, rule_holds, value_of, weight_of
from asfound.errors import UsageError
from asfound.model.voltage_rules import (
    Condition,
    ReadingPlace,
    VoltageCause,
    VoltageRule,
    VoltageRules,
)

LIKELY, POSSIBLE = 4.0, 2.0
"""Weights from which a cause is called likely, and possible (own choice)."""
MOST_NEXT = 4
SUSPECTED = 4.0
"""How much more a reading is worth that tells about a suspected cause (own choice)."""


class Standing(StrEnum):
    """How a cause stands."""

    LIKELY = "likely"
    POSSIBLE = "possible"
    HINT = "a-hint"
    UNLIKELY = "unlikely"
    UNTOLD = "could-not-tell"


@dataclass(frozen=True, slots=True)
class JudgeVolts:
    """``readings`` [V] by the id of their place on a vehicle of ``system`` volts, taken with a
    meter whose error is the share ``meter`` [1]."""

    system: int
    readings: Mapping[str, float]
    meter: float = METER


@dataclass(frozen=True, slots=True)
class Seen:
    """What a condition looked at: the first of ``names`` (ids of readings) less the others, as a
    share of ``share_of`` or not (""). ``measured`` [V, "1" for a share] against its limits as they
    count on this vehicle (None: it has no such limit)."""

    names: tuple[str, ...]
    share_of: str
    measured: float
    unit: str
    below: float | None
    above: float | None

    @property
    def what(self) -> str:
        """In ids: "fuse-out-on - plug-on", "plug-on / battery-on"."""
        words = " - ".join(self.names)
        return f"{words} / {self.share_of}" if self.share_of else words


@dataclass(frozen=True, slots=True)
class Spoken:
    """A rule that held, and all that it looked at. ``doubt``: within the meter's error."""

    rule: VoltageRule
    seen: tuple[Seen, ...]
    doubt: bool


@dataclass(frozen=True, slots=True)
class Judged:
    """A cause: its weight, what spoke for or against it, and the readings without which some
    rules about it could not be told."""

    cause: VoltageCause
    standing: Standing
    weight: float
    spoken: tuple[Spoken, ...]
    lacks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Next:
    """A reading worth taking, and the causes that it would tell more about."""

    reading: ReadingPlace
    causes: tuple[VoltageCause, ...]


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Causes by weight, those that could not be told last; readings worth taking next."""

    causes: tuple[Judged, ...]
    next: tuple[Next, ...]

    @property
    def found(self) -> tuple[Judged, ...]:
        """Those that something speaks for."""
        return tuple(one for one in self.causes if one.weight > 0)

    @property
    def untold(self) -> tuple[Judged, ...]:
        """Those about which nothing was measured."""
        return tuple(one for one in self.causes if one.standing is Standing.UNTOLD)


def judge_volts(request: JudgeVolts, rules: VoltageRules) -> Diagnosis:
    """The causes. Raises UsageError for a reading that the rules do not know or no reading."""
    _check(request, rules)
    by_cause: dict[str, list[tuple[VoltageRule, Truth]]] = defaultdict(list)
    for rule in rules.rules:
        if rule.system in (0, request.system):
            truth = rule_holds(rule, request.readings, request.system, request.meter)
            by_cause[rule.cause].append((rule, truth))
    judged = [_judged(request, rules.causes[name], several) for name, several in by_cause.items()]
    order = list(Standing)
    judged.sort(key=lambda one: (-one.weight if one.weight > 0 else 0, order.index(one.standing)))
    return Diagnosis(tuple(judged), _next(request, rules, judged, by_cause))


def _check(request: JudgeVolts, rules: VoltageRules) -> None:
    places = {
        name: place for name, place in rules.readings.items() if place.system in (0, request.system)
    }
    for name in request.readings:
        if name not in places:
            raise UsageError(
                f"there is no reading {name!r} on a {request.system} V vehicle; there are "
                f"{', '.join(places)}"
            )
    if not any(not places[name].given for name in request.readings):
        raise UsageError("give at least one measured voltage, for example plug-on=23.9")


def _judged(
    request: JudgeVolts,
    cause: VoltageCause,
    several: list[tuple[VoltageRule, Truth]],
) -> Judged:
    weight = weight_of(several)
    spoken = tuple(
        Spoken(rule, tuple(_seen(request, one) for one in rule.when), truth is Truth.DOUBT)
        for rule, truth in several
        if truth in (Truth.YES, Truth.DOUBT)
    )
    lacks = {
        name: None
        for rule, truth in several
        if truth is Truth.UNTOLD
        for condition in rule.when
        for name in condition.readings
        if name not in request.readings
    }
    return Judged(cause, _standing(weight, several), weight, spoken, tuple(lacks))


def _standing(weight: float, several: list[tuple[VoltageRule, Truth]]) -> Standing:
    if weight >= LIKELY:
        return Standing.LIKELY
    if weight >= POSSIBLE:
        return Standing.POSSIBLE
    if weight > 0:
        return Standing.HINT
    told = any(truth in (Truth.YES, Truth.DOUBT) for _, truth in several)
    # Rules for it that all failed speak against it, too; one that was never told does not.
    failed = all(truth is Truth.NO for rule, truth in several if rule.weight > 0)
    return Standing.UNLIKELY if told or failed else Standing.UNTOLD


def _seen(request: JudgeVolts, condition: Condition) -> Seen:
    scale = request.system / 12 if condition.scaled and not condition.share_of else 1.0
    return Seen(
        (condition.of, *condition.minus),
        condition.share_of,
        value_of(condition, request.readings) or 0.0,
        "1" if condition.share_of else "V",
        None if condition.below is None else condition.below * scale,
        None if condition.above is None else condition.above * scale,
    )


def _next(
    request: JudgeVolts,
    rules: VoltageRules,
    judged: list[Judged],
    by_cause: Mapping[str, list[tuple[VoltageRule, Truth]]],
) -> tuple[Next, ...]:
    """Readings by what each would settle: for every cause the strongest untold rule that takes it.
    Causes that are spoken against do not count, suspected ones count SUSPECTED times."""
    open_causes = [one for one in judged if one.standing is not Standing.UNLIKELY]
    worth: dict[str, dict[str, float]] = defaultdict(dict)
    for one in open_causes:
        suspected = SUSPECTED if one.weight > 0 else 1.0
        for rule, truth in by_cause[one.cause.id]:
            if truth is not Truth.UNTOLD:
                continue
            names = [name for condition in rule.when for name in condition.readings]
            missing = {name for name in names if name not in request.readings}
            # Readings that are needed together share what they would settle.
            settles = suspected * abs(rule.weight) / len(missing) ** 2
            for name in missing:
                about = worth[name]
                about[one.cause.id] = max(about.get(one.cause.id, 0.0), settles)
    order = list(rules.readings)
    ranked = sorted(worth, key=lambda name: (-sum(worth[name].values()), order.index(name)))
    return tuple(
        Next(rules.readings[name], tuple(rules.causes[cause] for cause in worth[name]))
        for name in ranked[:MOST_NEXT]
    )
