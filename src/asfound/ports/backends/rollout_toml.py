"""The rollout file (``asfound-rollout/1``, docs/rollout.md) to the model, with faults by line."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from asfound.calc.plain_text import code, unseen
from asfound.errors import InputError
from asfound.model.rollout import Pilot, Rollout, StopLimits
from asfound.ports.backends.toml_checked import Faults, load_checked


def _seen(text: str) -> str:
    if bad := unseen(text):
        raise ValueError(f"holds the unseen character {code(bad)}; write it without")
    if not text.strip():
        raise ValueError("is empty; write a name")
    return text


Name = Annotated[str, Field(min_length=1, max_length=120), AfterValidator(_seen)]
Share = Annotated[float, Field(gt=0, lt=1)]
Size = Annotated[int, Field(ge=1, le=100_000)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class PilotTable(_Strict):
    """``[pilot]``: vehicles by number, or how many from where."""

    vehicles: list[Name] = Field(default_factory=list)
    count: Size | None = None
    depots: list[Name] = Field(default_factory=list)
    classes: list[Name] = Field(default_factory=list)


class LimitsTable(_Strict):
    """``[limits]``: the stop rule."""

    acceptable: Share
    unacceptable: Share
    rule: Literal["sequential", "exact"] = "sequential"
    alpha: Share = 0.05
    beta: Share = 0.10
    confidence: float = Field(default=0.95, ge=0.5, lt=1)


class RolloutFile(_Strict):
    """The whole file."""

    format: Literal["asfound-rollout/1"]
    id: Name
    map: Name
    hardware: list[Name] = Field(default_factory=list)
    target: Name
    started_on: date
    hold_days: int = Field(ge=0, le=3660)
    waves: list[Size] = Field(min_length=1, max_length=1000)
    approved_by: Name
    approved_on: date
    pilot: PilotTable
    limits: LimitsTable


def load_rollout(path: Path) -> Rollout:
    """The rollout in ``path``. Raises InputError (file, line, field), NotFound, StorageError."""
    loaded = load_checked(path, RolloutFile, InputError)
    file, faults = loaded.value, loaded.faults
    _check_pilot(file.pilot, faults)
    _check_limits(file.limits, faults)
    _check_twice(("hardware",), file.hardware, faults)
    if file.approved_on > file.started_on:
        faults.add(("approved_on",), "is after started_on; have it approved first")
    faults.raise_if_any()
    pilot, limits = file.pilot, file.limits
    return Rollout(
        file.id,
        file.map,
        tuple(file.hardware),
        file.target,
        Pilot(tuple(pilot.vehicles), pilot.count or 0, tuple(pilot.depots), tuple(pilot.classes)),
        tuple(file.waves),
        file.hold_days,
        StopLimits(
            limits.acceptable,
            limits.unacceptable,
            limits.rule,
            limits.alpha,
            limits.beta,
            limits.confidence,
        ),
        file.started_on,
        file.approved_by,
        file.approved_on,
    )


def _check_pilot(pilot: PilotTable, faults: Faults) -> None:
    if bool(pilot.vehicles) == (pilot.count is not None):
        faults.add(("pilot",), "must have either vehicles or count; write one of the two")
    if pilot.vehicles and (pilot.depots or pilot.classes):
        key = "depots" if pilot.depots else "classes"
        faults.add(("pilot", key), "goes with count; remove it, or name no vehicles")
    for key, names in (
        ("vehicles", pilot.vehicles),
        ("depots", pilot.depots),
        ("classes", pilot.classes),
    ):
        _check_twice(("pilot", key), names, faults)


def _check_limits(limits: LimitsTable, faults: Faults) -> None:
    if limits.acceptable >= limits.unacceptable:
        faults.add(("limits", "acceptable"), "must be below unacceptable; correct one of them")
    if limits.alpha + limits.beta >= 1:
        faults.add(("limits", "alpha"), "and beta together must be below 1; correct one of them")


def _check_twice(place: tuple[str, ...], names: Sequence[str], faults: Faults) -> None:
    folded = [name.replace(" ", "").casefold() for name in names]
    for at, name in enumerate(folded):
        if name in folded[:at]:
            faults.add((*place, at), f"{names[at]!r} stands here twice; remove one")
