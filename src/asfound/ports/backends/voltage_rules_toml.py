"""Rules from voltages to causes as data (``asfound-voltage-rules/1``, data/voltage_rules.toml)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from asfound.errors import InputError
from asfound.model.voltage_rules import (
    Condition,
    ReadingPlace,
    VoltageCause,
    VoltageRule,
    VoltageRules,
)
from asfound.ports.backends.toml_checked import Faults, load_checked

SHIPPED = Path(__file__).parents[2] / "data" / "voltage_rules.toml"

Line = Annotated[str, Field(min_length=1, max_length=400)]
Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
Volts = Annotated[float, Field(ge=-1000, le=1000, allow_inf_nan=False)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class ReadingTable(_Table):
    """One ``[[reading]]``."""

    id: Id
    short: Line
    title: Line
    when: Line
    given: bool = False
    system: Literal[0, 12, 24] = 0


class CauseTable(_Table):
    """One ``[[cause]]``."""

    id: Id
    title: Line
    advice: Line


class ConditionTable(_Table):
    """One of a rule's ``when``."""

    of: Id
    minus: list[Id] = []
    share_of: Id | None = None
    below: Volts | None = None
    above: Volts | None = None
    scaled: bool = True
    either_way: bool = False


class RuleTable(_Table):
    """One ``[[rule]]``."""

    id: Id
    cause: Id
    when: list[ConditionTable] = Field(min_length=1, max_length=8)
    weight: int = Field(ge=-8, le=8)
    says: Line
    source: Line
    system: Literal[0, 12, 24] = 0


class RulesFile(_Table):
    """The whole file."""

    format: Literal["asfound-voltage-rules/1"]
    reading: list[ReadingTable] = Field(min_length=1)
    cause: list[CauseTable] = Field(min_length=1)
    rule: list[RuleTable] = Field(min_length=1)


def load_voltage_rules(path: Path = SHIPPED) -> VoltageRules:
    """The rules. Raises InputError (every fault with file, line and field), NotFound,
    StorageError."""
    loaded = load_checked(path, RulesFile, InputError)
    file, faults = loaded.value, loaded.faults
    for name, tables in (("reading", file.reading), ("cause", file.cause), ("rule", file.rule)):
        _twice(faults, name, [table.id for table in tables])
    readings = {
        table.id: ReadingPlace(
            table.id, table.title, table.when, table.short, table.given, table.system
        )
        for table in file.reading
    }
    causes = {table.id: VoltageCause(table.id, table.title, table.advice) for table in file.cause}
    for at, rule in enumerate(file.rule):
        _check_rule(faults, at, rule, readings, causes)
    spoken = {rule.cause for rule in file.rule if rule.weight > 0}
    for at, cause in enumerate(file.cause):
        if cause.id not in spoken:
            faults.add(("cause", at, "id"), "no rule speaks for it; add one or remove the cause")
    faults.raise_if_any()
    return VoltageRules(readings, causes, tuple(_rule(table) for table in file.rule))


def _twice(faults: Faults, name: str, ids: Iterable[str]) -> None:
    seen: Counter[str] = Counter()
    for at, one in enumerate(ids):
        seen[one] += 1
        if seen[one] == 2:
            faults.add((name, at, "id"), f"{one!r} stands twice; rename one")


def _check_rule(
    faults: Faults,
    at: int,
    rule: RuleTable,
    readings: dict[str, ReadingPlace],
    causes: dict[str, VoltageCause],
) -> None:
    if rule.cause not in causes:
        faults.add(("rule", at, "cause"), f"there is no cause {rule.cause!r}; add it or correct it")
    if not rule.weight:
        faults.add(("rule", at, "weight"), "0 says nothing; write 1 to 8, or -8 to -1 against")
    for number, condition in enumerate(rule.when):
        place = ("rule", at, "when", number)
        made = _condition(condition)
        for name in made.readings:
            if name not in readings:
                faults.add(place, f"there is no reading {name!r}; add it or correct it")
        if condition.below is None and condition.above is None:
            faults.add(place, "it has no limit; write below, above or both")
        elif (
            condition.below is not None
            and condition.above is not None
            and condition.above >= condition.below
        ):
            faults.add(place, "nothing is above the one and below the other; swap them")


def _condition(table: ConditionTable) -> Condition:
    return Condition(
        table.of,
        tuple(table.minus),
        table.share_of or "",
        table.below,
        table.above,
        table.scaled,
        table.either_way,
    )


def _rule(table: RuleTable) -> VoltageRule:
    when = tuple(_condition(one) for one in table.when)
    return VoltageRule(
        table.id, table.cause, when, table.weight, table.says, table.source, table.system
    )
