"""Procedures as data (``asfound-procedure/1``, docs/procedures.md), with faults by line."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from asfound.errors import InputError, StorageError
from asfound.model.procedure import REQUIRED_GATES, GateKind, Procedure, Step, StepKind
from asfound.ports.backends.toml_checked import Faults, load_checked

SHIPPED = Path(__file__).parents[2] / "data" / "procedures"

Id = Annotated[str, Field(pattern=r"^[a-z0-9]+([.-][a-z0-9]+)*$")]
Line = Annotated[str, Field(min_length=1)]


class StepTable(BaseModel):
    """One ``[[step]]``."""

    model_config = ConfigDict(extra="forbid", strict=True)
    id: Id
    title: Line
    text: Line
    kind: StepKind
    gates: list[GateKind] = Field(default_factory=list)
    cautions: list[str] = Field(default_factory=list)


class ProcedureFile(BaseModel):
    """The whole file."""

    model_config = ConfigDict(extra="forbid", strict=True)
    format: Literal["asfound-procedure/1"]
    id: Id
    title: Line
    step: list[StepTable] = Field(min_length=1)


def load_procedure(path: Path, cautions: Collection[str]) -> Procedure:
    """The procedure in ``path``; ``cautions`` are the ids that exist.

    Raises InputError (file, line, field), NotFound, StorageError.
    """
    loaded = load_checked(path, ProcedureFile, InputError)
    file = loaded.value
    _check(file, cautions, loaded.faults)
    loaded.faults.raise_if_any()
    steps = tuple(
        Step(
            table.id,
            table.title,
            " ".join(table.text.split()),
            table.kind,
            tuple(table.gates),
            tuple(table.cautions),
        )
        for table in file.step
    )
    return Procedure(file.id, file.title, steps)


def shipped_procedure_paths(folder: Path = SHIPPED) -> dict[str, Path]:
    """Procedure id -> file, of the files in ``folder`` (a file is named after its id)."""
    try:
        return {path.stem: path for path in sorted(folder.glob("*.toml"))}
    except OSError as error:
        raise StorageError(f"{folder}: {error.strerror}; check the folder's permissions") from None


def _check(file: ProcedureFile, cautions: Collection[str], faults: Faults) -> None:
    seen: set[str] = set()
    for at, table in enumerate(file.step):
        if table.id in seen:
            faults.add(("step", at, "id"), f"{table.id!r} stands twice; rename one")
        seen.add(table.id)
        for number, name in enumerate(table.cautions):
            if name not in cautions:
                faults.add(
                    ("step", at, "cautions", number),
                    f"no caution {name!r}; known are {', '.join(sorted(cautions))}",
                )
        for gate in REQUIRED_GATES.get(table.kind, ()):
            if gate not in table.gates:
                faults.add(
                    ("step", at, "gates"),
                    f"a step of kind {table.kind!r} must have {gate!r}; add it",
                )
    _check_last(file, faults)


def _check_last(file: ProcedureFile, faults: Faults) -> None:
    """A visit ends by its one closing step, and no kind that a command works on stands twice."""
    last = len(file.step) - 1
    if file.step[last].kind != "close":
        faults.add(("step", last, "kind"), "the last step must be of kind 'close'; add it")
    kinds = [table.kind for table in file.step]
    for at, kind in enumerate(kinds):
        if kind != "check" and kind in kinds[:at]:
            faults.add(("step", at, "kind"), f"kind {kind!r} stands twice; use 'check' for one")
    if "read-as-found" not in kinds:
        faults.add(("step",), "no step of kind 'read-as-found'; add one before any change")
    for at, kind in enumerate(kinds):
        if kind in REQUIRED_GATES and kind != "close" and "read-as-found" not in kinds[:at]:
            faults.add(("step", at, "kind"), f"{kind!r} stands before 'read-as-found'; read first")
