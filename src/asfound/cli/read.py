"""`asfound read`: photographs of the monitor to settings."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from asfound.cli import output, wiring
from asfound.cli.clock_show import (
    PhoneErrorOption,
    PhoneZoneOption,
    ZoneOption,
    clock_json,
    show_clock,
)
from asfound.cli.output import say, table, warn
from asfound.cli.read_settle import SettleOption, SettlerOption, check_settle, settle_reading
from asfound.cli.retake_show import retake_json, show_retakes
from asfound.errors import ExitCode, NotFound
from asfound.jobs.clip_stills import SUFFIXES as CLIPS
from asfound.jobs.read_clock import ClockFacts
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.model.clock import PHONE_ERROR_S
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.reading import FieldReading, Reading, State
from asfound.model.values import shown

FORMAT = "asfound-reading/1"

SUFFIXES = frozenset(
    {".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".bmp", ".mpo"}
    | {".heic", ".heif", ".hif", ".avif"}
    | CLIPS
)
"""Endings of files taken from a folder; a file that is named may end in anything."""

STYLES = {State.SURE: "green", State.DOUBT: "bold yellow", State.UNREAD: "bold red"}


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("read")(read)


def read(  # noqa: PLR0913 (an option each)
    photos: Annotated[
        list[Path], typer.Argument(help="Photographs, short clips, or folders of them.")
    ],
    map_name: Annotated[str, typer.Option("--map", help="Menu map: a file, or a shipped id.")],
    firmware: Annotated[str | None, typer.Option(help="Installed firmware version.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
    blobs: Annotated[
        Path | None, typer.Option(help="Folder that keeps the photographs by content hash.")
    ] = None,
    zone: ZoneOption = "",
    phone_zone: PhoneZoneOption = "",
    phone_error: PhoneErrorOption = PHONE_ERROR_S,
    settle: SettleOption = None,
    by: SettlerOption = "",
) -> None:
    """Read photographs of the menu into settings, with doubts flagged.

    Exit code 0: every value is sure and every page there; 1: doubts, unread values or missing
    pages; 4: a file is no picture (the rest is read all the same).
    """
    menu_map = wiring.menu_map(map_name)
    files = photo_files(photos)
    settler = by if settle is None else check_settle(settle, by, as_json)
    clock = ClockFacts(zone, phone_zone, phone_error)
    with tempfile.TemporaryDirectory(prefix="asfound-") as scratch:
        store = wiring.blobs(blobs if blobs is not None else Path(scratch))
        with wiring.progress("Reading") as progress:
            reading = read_pages(
                ReadPages(menu_map, files, firmware, clock),
                pictures=wiring.pictures(),
                ocr=wiring.ocr(),
                blobs=store,
                clock=wiring.clock(),
                progress=progress,
                video=wiring.video(),
            )
        if as_json:
            output.json_out(reading_json(reading, menu_map))
        else:
            show_reading(reading, menu_map)
        left = len(reading.doubts())
        if settle is not None:
            data = reading_json(reading, menu_map)
            left = settle_reading(reading, data, menu_map, path=settle, by=settler, blobs=store)
    bad = [photo for photo in reading.photos if photo.damaged]
    for photo in bad:
        warn(f"asfound: {photo.note}")
    if bad:
        raise typer.Exit(ExitCode.BAD_PICTURE)
    unknown = any(photo.page is None for photo in reading.photos)
    if left or reading.missing_pages or unknown:
        raise typer.Exit(ExitCode.FINDINGS)


def photo_files(paths: list[Path]) -> tuple[Path, ...]:
    """The files named, and the pictures in the folders named, sorted. Raises NotFound."""
    files: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = sorted(p for p in path.iterdir() if p.suffix.lower() in SUFFIXES)
            if not inside:
                raise NotFound(f"{path}: no pictures in this folder; name another one")
            files += inside
        elif path.exists() or path.is_symlink():
            files.append(path)
        else:
            raise NotFound(f"{path}: no such file or folder")
    return tuple(files)


def reading_json(reading: Reading, menu_map: MenuMap) -> dict[str, object]:
    """The documented form (docs/reading.md)."""
    return {
        "format": FORMAT,
        "map": reading.map_id,
        "firmware": reading.firmware,
        "note": reading.note,
        "photos": [
            {
                "file": photo.file,
                "sha256": photo.sha256,
                "clip": photo.clip,
                "page": photo.page,
                "seconds": photo.seconds,
                "note": photo.note,
                "taken": None if photo.taken is None else photo.taken.isoformat(),
                "fields": [_field_json(field) for field in photo.fields],
            }
            for photo in reading.photos
        ],
        "fields": [_field_json(field) for field in reading.fields],
        "missing_pages": list(reading.missing_pages),
        "repeated_pages": list(reading.repeated_pages),
        "clock": clock_json(reading.clock),
        "clock_note": reading.clock_note,
        "retake": retake_json(reading, menu_map),
    }


def _field_json(field: FieldReading) -> dict[str, object]:
    return {
        "id": field.id,
        "label": field.label,
        "text": field.text,
        "value": field.value,
        "state": field.state.value,
        "candidates": list(field.candidates),
        "box": None if field.box is None else [[round(x, 1), round(y, 1)] for x, y in field.box],
        "photo": field.photo,
        "reason": field.reason,
        "confidence": field.confidence,
    }


def show_reading(reading: Reading, menu_map: MenuMap) -> None:
    """A table per page with doubts marked in words, then what is missing."""
    by_id = {field.id: field for field in reading.fields}
    for page in menu_map.pages:
        fields = [by_id[field.id] for field in page.fields if field.id in by_id]
        if not fields or page.id in reading.missing_pages:
            continue
        rows = [_row(f, menu_map) for f in fields]
        title = f"{page.group}: {page.title}" if page.group else page.title
        table(("setting", "value", "state", "why"), rows, title=title)
        say()
    for photo in reading.photos:
        if photo.note and not photo.damaged:
            style = STYLES[State.UNREAD if photo.page is None else State.DOUBT]
            say(f"{Path(photo.file).name}: {photo.note}", style)
    if reading.note:
        say(reading.note)
    show_clock(reading)
    show_retakes(reading, menu_map)
    _summary(reading, menu_map)


def _row(field: FieldReading, menu_map: MenuMap) -> tuple[str | Text, ...]:
    state = field.state.value if field.state is State.SURE else field.state.value.upper()
    reason = "" if field.state is State.SURE else field.reason
    return (field.label, _value(field, menu_map), Text(state, style=STYLES[field.state]), reason)


def _value(field: FieldReading, menu_map: MenuMap) -> str:
    kind = menu_map.field(field.id).type
    if isinstance(kind, Secret):
        return field.value or "–"
    if field.state is State.DOUBT:
        return " or ".join(shown(kind, value) or "(blank)" for value in field.candidates) + " ?"
    if field.value is None:
        return "–"
    return shown(kind, field.value) or "(blank)"


def _summary(reading: Reading, menu_map: MenuMap) -> None:
    counts = {state: sum(f.state is state for f in reading.fields) for state in State}
    pages = len({photo.page for photo in reading.photos if photo.page is not None})
    say(
        f"{_plural(len(reading.photos), 'photograph')}, {_plural(pages, 'page')}, firmware "
        f"{reading.firmware}: {counts[State.SURE]} sure, {counts[State.DOUBT]} in doubt, "
        f"{counts[State.UNREAD]} unread",
        "bold",
    )
    if reading.missing_pages:
        titles = ", ".join(menu_map.page(page).title for page in reading.missing_pages)
        say(f"still to photograph: {titles}", STYLES[State.DOUBT])


def _plural(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
