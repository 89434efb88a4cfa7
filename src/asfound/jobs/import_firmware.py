"""Entries of a firmware catalogue from a sheet and a folder: sizes and hashes are taken here."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from asfound.calc.firmware_text import catalogue_text
from asfound.errors import InputError
from asfound.model.firmware import Image, SheetLine
from asfound.ports.firmware_files import FirmwareFiles


@dataclass(frozen=True, slots=True)
class ImportFirmware:
    """``sheet``: the sheet's name, for what is wrong with it."""

    sheet: str
    lines: Sequence[SheetLine]


@dataclass(frozen=True, slots=True)
class ImportedFirmware:
    """The catalogue as TOML, its images, and files of the folder that the sheet does not name."""

    text: str
    images: tuple[Image, ...]
    left_out: tuple[str, ...]


def import_firmware(request: ImportFirmware, *, files: FirmwareFiles) -> ImportedFirmware:
    """Every image of the sheet with size and SHA-256 of its file; nobody has approved any.

    Raises InputError with a line for each fault, NotFound, StorageError.
    """
    found = {unicodedata.normalize("NFC", one.name): one for one in files.listing()}
    faults: list[str] = []
    orders: dict[str, str] = {}
    images = []
    for line in request.lines:
        where = f"{request.sheet}:{line.line}"
        if orders.setdefault(line.map_id, line.order) != line.order:
            faults.append(f"{where}: {line.map_id} has the order {orders[line.map_id]} above")
        name = unicodedata.normalize("NFC", line.file)
        seen = found.get(name)
        if seen is None or not seen.size:
            why = "is not in the folder" if seen is None else "is no file, or an empty one"
            faults.append(f"{where}: {line.file} {why}; put it there, or remove the line")
            continue
        digest = files.sha256(seen.name)
        if line.sha256 and line.sha256 != digest:
            faults.append(
                f"{where}: {line.file} has the SHA-256 {digest}, not that of the sheet; "
                "fetch the file again"
            )
        images.append(_image(line, name, seen.size, digest))
    if faults:
        head = [f"{request.sheet}: {len(faults)} faults"] if len(faults) > 1 else []
        raise InputError("\n".join([*head, *faults]))
    named = {image.file for image in images}
    return ImportedFirmware(
        catalogue_text(orders.items(), images),
        tuple(images),
        tuple(sorted(name for name in found if name not in named)),
    )


def _image(line: SheetLine, name: str, size: int, digest: str) -> Image:
    return Image(
        map_id=line.map_id,
        hardware=line.hardware,
        version=line.version,
        file=name,
        size=size,
        sha256=digest,
        notes=line.notes,
        needs=line.needs,
        stones=line.stones,
        not_over=line.not_over,
        floor=line.floor,
    )
