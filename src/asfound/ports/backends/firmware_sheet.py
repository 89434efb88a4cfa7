"""Sheets that name images of a folder: CSV (RFC 4180) or TOML (docs/firmware.md)."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from asfound.errors import InputError
from asfound.model.firmware import SheetLine
from asfound.ports.backends.firmware_toml import FileName, Name, Versions
from asfound.ports.backends.text_file import TextKind, read_text_file
from asfound.ports.backends.toml_checked import load_checked

MAX_BYTES = 4 * 1024 * 1024

NEEDED = ("map", "order", "hardware", "version", "file")
LISTS = ("hardware", "stones", "not_over")
COLUMNS = (*NEEDED, "notes", "needs", "stones", "not_over", "floor", "sha256")


class SheetImage(BaseModel):
    """One ``[[image]]`` of a sheet."""

    model_config = ConfigDict(extra="forbid", strict=True)

    map: Name
    order: Name
    hardware: list[Name] = Field(min_length=1)
    version: Name
    file: FileName
    notes: Annotated[str, Field(max_length=4000)] = ""
    needs: Name | None = None
    stones: Versions = []
    not_over: Versions = []
    floor: Name | None = None
    sha256: str = ""


class SheetFile(BaseModel):
    """The whole sheet."""

    model_config = ConfigDict(extra="forbid", strict=True)

    format: Literal["asfound-firmware-sheet/1"]
    image: list[SheetImage] = Field(min_length=1)


def load_sheet(path: Path) -> tuple[SheetLine, ...]:
    """What the sheet names. Raises InputError (file, line), NotFound, StorageError."""
    if path.suffix.casefold() != ".toml":
        return _csv(path)
    loaded = load_checked(path, SheetFile, InputError)
    return tuple(
        SheetLine(
            loaded.faults.line(("image", at)), one.map, one.order, tuple(one.hardware), one.version,
            one.file, one.notes, one.needs or "", tuple(one.stones), tuple(one.not_over),
            one.floor or "", one.sha256.casefold(),
        )
        for at, one in enumerate(loaded.value.image)
    )  # fmt: skip


def _csv(path: Path) -> tuple[SheetLine, ...]:
    kind = TextKind("CSV", MAX_BYTES, "this is no such sheet", InputError)
    reader = csv.reader(io.StringIO(read_text_file(path, kind), newline=""), strict=True)
    try:
        columns = [name.strip() for name in next(reader, [])]
        _check_columns(path, columns)
        lines = []
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) != len(columns):
                raise InputError(
                    f"{path}:{reader.line_num}: {len(cells)} cells under {len(columns)} columns; "
                    "write lists with ; and texts with , in quotes"
                )
            row = dict(zip(columns, map(str.strip, cells), strict=True))
            lines.append(_line(path, reader.line_num, row))
    except csv.Error as error:
        raise InputError(f"{path}:{reader.line_num}: no CSV ({error}); correct it") from None
    if not lines:
        raise InputError(f"{path}: names no image; add a line for each")
    return tuple(lines)


def _check_columns(path: Path, columns: list[str]) -> None:
    lost = [name for name in NEEDED if name not in columns]
    strange = [name for name in columns if name not in COLUMNS]
    if lost:
        raise InputError(f"{path}:1: there is no column {lost[0]}; add it (docs/firmware.md)")
    if strange:
        raise InputError(f"{path}:1: no column is called {strange[0]!r}; rename or remove it")
    if len({*columns}) != len(columns):
        raise InputError(f"{path}:1: a column stands twice; remove one")


def _line(path: Path, number: int, row: dict[str, str]) -> SheetLine:
    for name in NEEDED:
        if not row[name]:
            raise InputError(f"{path}:{number}: {name} is empty; fill it in")
    if "/" in row["file"] or "\\" in row["file"]:
        raise InputError(f"{path}:{number}: file: write the name alone, without a folder")
    hardware, stones, not_over = (
        tuple(part.strip() for part in row.get(name, "").split(";") if part.strip())
        for name in LISTS
    )
    return SheetLine(
        number, row["map"], row["order"], hardware, row["version"], row["file"],
        row.get("notes", ""), row.get("needs", ""), stones, not_over, row.get("floor", ""),
        row.get("sha256", "").casefold(),
    )  # fmt: skip
