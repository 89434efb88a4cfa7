"""Cautions as data (``asfound-cautions/1``, data/cautions.toml)."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from asfound.errors import InputError
from asfound.model.caution import Caution
from asfound.ports.backends.toml_checked import load_checked

SHIPPED = Path(__file__).parents[2] / "data" / "cautions.toml"

Line = Annotated[str, Field(min_length=1)]


class CautionTable(BaseModel):
    """One ``[[caution]]``."""

    model_config = ConfigDict(extra="forbid", strict=True)
    id: str = Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")
    title: Line
    text: Line
    source: Line
    defers_to: Line


class CautionsFile(BaseModel):
    """The whole file."""

    model_config = ConfigDict(extra="forbid", strict=True)
    format: Literal["asfound-cautions/1"]
    caution: list[CautionTable] = Field(min_length=1)


def load_cautions(path: Path = SHIPPED) -> dict[str, Caution]:
    """Cautions by id, in the file's order. Raises InputError, NotFound, StorageError."""
    loaded = load_checked(path, CautionsFile, InputError)
    made: dict[str, Caution] = {}
    for at, table in enumerate(loaded.value.caution):
        if table.id in made:
            loaded.faults.add(("caution", at, "id"), f"{table.id!r} stands twice; rename one")
        made[table.id] = Caution(
            table.id, table.title, _one_line(table.text), table.source, table.defers_to
        )
    loaded.faults.raise_if_any()
    return made


def _one_line(text: str) -> str:
    return " ".join(text.split())
