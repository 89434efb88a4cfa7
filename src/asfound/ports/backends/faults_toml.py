"""Fault guides as data (``asfound-faults/1``, docs/faults.md), with faults by line."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from asfound.errors import InputError
from asfound.model.fault_guide import (
    NO,
    OTHER,
    UNCLEAR,
    YES,
    Cause,
    FaultGuide,
    Outcome,
    Question,
    Reach,
)
from asfound.ports.backends.toml_checked import Faults, load_checked
from asfound.ports.backends.toml_lines import Place

SHIPPED = Path(__file__).parents[2] / "data" / "faults.toml"

LEAST = 0.001
"""Chances below are refused: what is impossible on paper happens in vehicles, and one such figure
would rule a cause out for good."""
SUM_OFF = 0.0011
"""How far chances of outcomes may be from 1: rounding of three figures after the point."""

Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
Line = Annotated[str, Field(min_length=1, max_length=400)]
Minutes = Annotated[float, Field(gt=0, le=10_000)]
Chance = Annotated[float, Field(ge=LEAST, le=1 - LEAST)]
Share = Annotated[float, Field(gt=0, le=1e6)]
Weight = Annotated[float, Field(ge=1, le=100_000)]
STRICT = ConfigDict(extra="forbid", strict=True)


class OtherTable(BaseModel):
    """``[something-else]``: the cause that is none of those listed."""

    model_config = STRICT
    share: Share
    minutes: Minutes
    repair: Line


class ReachTable(BaseModel):
    """One ``[[place]]`` or ``[[tool]]``."""

    model_config = STRICT
    id: Id
    title: Line
    minutes: Annotated[float, Field(ge=0, le=10_000)]


class CauseTable(BaseModel):
    """One ``[[cause]]``."""

    model_config = STRICT
    id: Id
    title: Line
    share: Share
    minutes: Minutes
    repair: Line
    cautions: list[str] = Field(default_factory=list)
    source: str = ""


class OutcomeTable(BaseModel):
    """One of a check's ``outcomes``."""

    model_config = STRICT
    id: Id
    title: Line


class SymptomTable(BaseModel):
    """One ``[[symptom]]``; chances are that it is there."""

    model_config = STRICT
    id: Id
    title: Line
    how: Line
    minutes: Minutes
    place: str = ""
    tools: list[str] = Field(default_factory=list)
    usual: Chance
    given: dict[str, Chance] = Field(default_factory=dict)
    cautions: list[str] = Field(default_factory=list)
    source: str = ""


class CheckTable(BaseModel):
    """One ``[[check]]``; chances are of its outcomes, in their order."""

    model_config = STRICT
    id: Id
    title: Line
    how: Line
    minutes: Minutes
    place: str = ""
    tools: list[str] = Field(default_factory=list)
    outcomes: list[OutcomeTable] = Field(min_length=2, max_length=8)
    usual: list[Chance]
    given: dict[str, list[Chance]] = Field(default_factory=dict)
    cautions: list[str] = Field(default_factory=list)
    source: str = ""


class GuideFile(BaseModel):
    """The whole file."""

    model_config = ConfigDict(extra="forbid", strict=True, populate_by_name=True)
    format: Literal["asfound-faults/1"]
    id: Id
    title: Line
    source: Line
    visits: Weight
    trials: Weight
    other: OtherTable = Field(alias="something-else")
    place: list[ReachTable] = Field(default_factory=list, max_length=100)
    tool: list[ReachTable] = Field(default_factory=list, max_length=100)
    cause: list[CauseTable] = Field(min_length=2, max_length=200)
    symptom: list[SymptomTable] = Field(min_length=1, max_length=200)
    check: list[CheckTable] = Field(min_length=1, max_length=300)


def load_faults(path: Path, cautions: Collection[str]) -> FaultGuide:
    """The fault guide in ``path``; ``cautions`` are the ids that exist.

    Raises InputError (a line for each fault: file, line, field), NotFound, StorageError.
    """
    loaded = load_checked(path, GuideFile, InputError)
    file, faults = loaded.value, loaded.faults
    _check_ids(file, faults)
    _check_names(file, set(cautions), faults)
    for at, table in enumerate(file.check):
        _check_rows(at, table, faults)
    _check_told(file, faults)
    faults.raise_if_any()
    total = file.other.share + sum(table.share for table in file.cause)
    causes = [_cause(table, total, file.source) for table in file.cause]
    rest = file.other
    causes.append(
        Cause(
            OTHER, "Something else", rest.share / total, rest.minutes, rest.repair, (), file.source
        )
    )
    return FaultGuide(
        file.id,
        file.title,
        file.source,
        file.visits,
        file.trials,
        tuple(causes),
        tuple(_symptom(table, file.source) for table in file.symptom),
        tuple(_check(table, file.source) for table in file.check),
        tuple(Reach(item.id, item.title, item.minutes) for item in file.place),
        tuple(Reach(item.id, item.title, item.minutes) for item in file.tool),
    )


def _cause(table: CauseTable, total: float, source: str) -> Cause:
    return Cause(
        table.id,
        table.title,
        table.share / total,
        table.minutes,
        table.repair,
        tuple(table.cautions),
        table.source or source,
    )


def _symptom(table: SymptomTable, source: str) -> Question:
    return Question(
        table.id,
        table.title,
        table.how,
        table.minutes,
        table.place,
        tuple(table.tools),
        (Outcome(YES, "yes"), Outcome(NO, "no")),
        (table.usual, 1 - table.usual),
        {cause: (chance, 1 - chance) for cause, chance in table.given.items()},
        tuple(table.cautions),
        table.source or source,
    )


def _check(table: CheckTable, source: str) -> Question:
    return Question(
        table.id,
        table.title,
        table.how,
        table.minutes,
        table.place,
        tuple(table.tools),
        tuple(Outcome(item.id, item.title) for item in table.outcomes),
        _whole(table.usual),
        {cause: _whole(row) for cause, row in table.given.items()},
        tuple(table.cautions),
        table.source or source,
    )


def _whole(row: Sequence[float]) -> tuple[float, ...]:
    """Chances that add up to 1 but for their last bit."""
    total = sum(row)
    return tuple(chance / total for chance in row)


def _check_ids(file: GuideFile, faults: Faults) -> None:
    lists: tuple[
        tuple[tuple[str, Sequence[SymptomTable | CheckTable | CauseTable | ReachTable]], ...], ...
    ] = (
        (("symptom", file.symptom), ("check", file.check)),
        (("cause", file.cause),),
        (("place", file.place),),
        (("tool", file.tool),),
    )
    for group in lists:
        seen = {OTHER, UNCLEAR}
        for kind, tables in group:
            for at, table in enumerate(tables):
                if table.id in (OTHER, UNCLEAR):
                    faults.add((kind, at, "id"), f"{table.id!r} is always there; choose another id")
                elif table.id in seen:
                    faults.add((kind, at, "id"), f"{table.id!r} stands twice; rename one")
                seen.add(table.id)


def _check_names(file: GuideFile, cautions: set[str], faults: Faults) -> None:
    places = {item.id for item in file.place} | {""}
    tools = {item.id for item in file.tool}
    causes = {item.id for item in file.cause} | {OTHER}
    for at, cause in enumerate(file.cause):
        _known(faults, ("cause", at, "cautions"), cause.cautions, cautions, "caution")
    for kind, at, table in _asked(file):
        _known(faults, (kind, at, "cautions"), table.cautions, cautions, "caution")
        _known(faults, (kind, at, "tools"), table.tools, tools, "tool")
        if table.place not in places:
            faults.add((kind, at, "place"), f"no place {table.place!r}; add it as [[place]]")
        for name in table.given:
            if name not in causes:
                faults.add((kind, at, "given", name), f"no cause {name!r}; correct or remove it")


def _asked(file: GuideFile) -> list[tuple[str, int, SymptomTable | CheckTable]]:
    made: list[tuple[str, int, SymptomTable | CheckTable]] = []
    made += [("symptom", at, table) for at, table in enumerate(file.symptom)]
    made += [("check", at, table) for at, table in enumerate(file.check)]
    return made


def _known(
    faults: Faults, place: Place, names: Sequence[str], known: Collection[str], what: str
) -> None:
    for number, name in enumerate(names):
        if name not in known:
            near = ", ".join(sorted(known)) or "none"
            faults.add((*place, number), f"no {what} {name!r}; known are {near}")


def _check_rows(at: int, table: CheckTable, faults: Faults) -> None:
    count = len(table.outcomes)
    names = [item.id for item in table.outcomes]
    for number, name in enumerate(names):
        if name == UNCLEAR or name in names[:number]:
            what = "is always there" if name == UNCLEAR else "stands twice"
            faults.add(("check", at, "outcomes", number), f"{name!r} {what}; rename it")
    if names == [YES, NO]:
        faults.add(("check", at, "outcomes"), "yes and no are a symptom's; write a [[symptom]]")
    rows: list[tuple[Place, list[float]]] = [(("check", at, "usual"), table.usual)]
    rows += [(("check", at, "given", name), row) for name, row in table.given.items()]
    for place, row in rows:
        if len(row) != count:
            faults.add(place, f"{len(row)} chances for {count} outcomes; give one for each")
        elif abs(sum(row) - 1) > SUM_OFF:
            faults.add(place, f"chances add up to {sum(row):g}, not to 1; correct one")


def _check_told(file: GuideFile, faults: Faults) -> None:
    """A cause that no symptom and no check names looks like any other: it could never be found."""
    named = {name for _, _, table in _asked(file) for name in table.given}
    for at, table in enumerate(file.cause):
        if table.id not in named:
            faults.add(("cause", at, "id"), f"no symptom and no check names {table.id!r}; add one")
