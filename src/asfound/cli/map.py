"""`asfound map`: menu maps, checked and shown."""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.open_values import alike_words, unlisted
from asfound.cli import output, wiring
from asfound.cli.read import photo_files
from asfound.cli.settings_file import load_reading
from asfound.errors import ExitCode
from asfound.jobs.learn_defaults import LearnDefaults, Learned, learn_defaults
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.model.kinds import Choice, Level, Number, Secret, Switch, Text
from asfound.model.menu_map import Field, MenuMap
from asfound.ports.backends.map_draft import load_draft, save_draft
from asfound.ports.backends.map_toml import load_map, map_schema, shipped_map_paths

MapName = Annotated[str, typer.Argument(metavar="MAP", help="A TOML file, or a shipped map's id.")]


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="Menu maps: one recorder model's menu each.")
    group.command(name="check")(check_command)
    group.command(name="list")(list_command)
    group.command(name="show")(show_command)
    group.command(name="schema")(schema_command)
    group.command(name="learn")(learn_command)
    app.add_typer(group, name="map")


def check_command(
    name: MapName,
    settled: Annotated[
        list[Path] | None,
        typer.Option(
            "--settled",
            metavar="READING.json",
            help="A reading with settled values (read --settle): tells what the map lacks of them.",
        ),
    ] = None,
) -> None:
    """Check a menu map: every fault is told with its line."""
    menu_map = wiring.menu_map(name)
    kinds = Counter(field.type.kind for field in menu_map.fields)
    output.say(
        f"OK: {menu_map.id}: {len(menu_map.firmware)} firmware versions, "
        f"{len(menu_map.pages)} pages, {len(menu_map.fields)} fields "
        f"({', '.join(f'{count} {kind}' for kind, count in kinds.most_common())})"
    )
    new = [note for path in settled or () for note in unlisted_values(path, menu_map)]
    for note in (*new, *look_alike_options(menu_map), *lacks(menu_map)):
        output.say(f"note: {note}")


def unlisted_values(path: Path, menu_map: MenuMap) -> list[str]:
    """Values that a person settled in the reading and that the draft does not list, one line for
    each. Raises what ``load_reading`` does."""
    told: dict[str, list[Field]] = {}
    for name, value in load_reading(path, menu_map, menu_map.firmware[-1]).sure_values().items():
        field = menu_map.field(name)
        if unlisted(field.type, field.drafted, value):
            told.setdefault(value, []).append(field)
    return [
        f"{value!r} is settled in {path} and not in the map yet; add it to {_ids(fields)}"
        for value, fields in told.items()
    ]


def look_alike_options(menu_map: MenuMap) -> list[str]:
    """Values of one list that a photograph may not tell apart, one line for each list."""
    told: dict[str, list[Field]] = {}
    for field in menu_map.fields:
        pairs = alike_words(field.type)
        if pairs:
            both = ", ".join(f"{one!r} and {other!r}" for one, other in pairs)
            told.setdefault(both, []).append(field)
    return [
        f"{both} differ by letter case or look-alike characters alone, so that reading them is "
        f"always a doubt; are both on the recorder? {_ids(fields)}"
        for both, fields in told.items()
    ]


def lacks(menu_map: MenuMap) -> list[str]:
    """What the map still lacks, one line each; empty when nothing."""
    notes: list[str] = []
    if menu_map.keys.drafted:
        notes.append(
            "the keys are placeholders, no key sheet can be made: try them at the recorder "
            "(docs/menu-map.md, 3), then remove drafted from [keys]"
        )
    marked = {
        "type": "the type of {} is to confirm",
        "options": "the options of {} are only partly seen",
        "range": "the range and step of {} are not known",
        "layout": "the order of day and month of {} is to confirm",
        "length": "the greatest length of {} is not known",
        "label": "the label of {} is nobody's word yet",
    }
    for part, text in marked.items():
        fields = [field for field in menu_map.fields if part in field.drafted]
        if part == "type":
            fields = [field for field in fields if field.check]
        if fields:
            few = part in ("type", "options", "range", "layout")
            notes.append(text.format(_rows(fields)) + (f": {_ids(fields)}" if few else ""))
    unknown = [
        field
        for field in menu_map.fields
        if field.settable and field.default is None and not field.defaults
    ]
    if unknown:
        notes.append(
            f"the factory value of {output.count(len(unknown), 'setting')} is not given, so that "
            f"they are set by hand: {_ids(unknown)}"
        )
    return notes


def _rows(fields: Sequence[Field]) -> str:
    return output.count(len(fields), "row")


def _ids(fields: Sequence[Field]) -> str:
    """Their ids; rows of pages repeated for each camera once, with ``{n}``."""
    names = (
        field.id
        if field.camera is None
        else re.sub(rf"(?<![0-9]){field.camera}(?![0-9])", "{n}", field.id, count=1)
        for field in fields
    )
    return ", ".join(dict.fromkeys(names))


def learn_command(
    path: Annotated[Path, typer.Argument(metavar="MAP.toml", help="The map file to add to.")],
    photos: Annotated[
        list[Path], typer.Argument(help="Photographs taken right after a factory reset.")
    ],
    firmware: Annotated[str, typer.Option(metavar="V", help="The recorder's firmware version.")],
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Replace factory values that the map has otherwise.")
    ] = False,
) -> None:
    """Learn factory values from photographs taken right after a factory reset.

    Only sure values are written, for this firmware version. Exit code 0: all settings are known
    now; 1: some are not sure, differ from the map, or differ between cameras.
    """
    draft, menu_map = load_draft(path), load_map(path)
    known = firmware if menu_map.has_firmware(firmware) else menu_map.firmware[-1]
    with (
        tempfile.TemporaryDirectory(prefix="asfound-") as scratch,
        wiring.progress("Reading") as progress,
    ):
        reading = read_pages(
            ReadPages(menu_map, photo_files(photos), known),
            pictures=wiring.pictures(),
            ocr=wiring.ocr(),
            blobs=wiring.blobs(Path(scratch)),
            clock=wiring.clock(),
            progress=progress,
        )
    learned = learn_defaults(LearnDefaults(draft, reading, firmware, overwrite))
    if learned.learned or learned.draft != draft:
        save_draft(learned.draft, path, path)
    _show_learned(learned, path, firmware, overwrite)
    for photo in reading.photos:
        if photo.page is None:
            output.warn(f"asfound: {Path(photo.file).name}: {photo.note}")
    if learned.differ or learned.unsure or learned.uneven:
        raise typer.Exit(ExitCode.FINDINGS)


def _show_learned(learned: Learned, path: Path, firmware: str, overwrite: bool) -> None:
    if learned.learned:
        output.table(("setting", f"factory value in {firmware}"), learned.learned)
    for name, has, read in learned.differ:
        done = "replaced" if overwrite else "left as it is; --overwrite replaces it"
        output.say(f"differs  {name}: the map has {has!r}, photographs show {read!r}: {done}")
    for name in learned.uneven:
        output.say(f"uneven   {name}: cameras have different values; write it by hand")
    if learned.unsure:
        output.say(f"not sure {', '.join(learned.unsure)}")
    output.say(
        f"{path}: {output.count(len(learned.learned), 'factory value')} written for {firmware}, "
        f"{len(learned.same)} known already, {len(learned.differ)} different, "
        f"{len(learned.unsure)} not sure, {len(learned.uneven)} uneven",
        "bold",
    )


def list_command() -> None:
    """The menu maps that come with asfound."""
    rows = []
    for path in shipped_map_paths().values():
        menu_map = load_map(path)
        versions = ", ".join(menu_map.firmware)
        name = f"{menu_map.maker} {menu_map.model}"
        rows.append((menu_map.id, name, str(menu_map.cameras), versions, str(len(menu_map.fields))))
    output.table(("id", "recorder", "cameras", "firmware", "fields"), rows, right=(2, 4))


def show_command(
    name: MapName,
    firmware: Annotated[
        str | None, typer.Option(metavar="V", help="Only what this version has; else the newest.")
    ] = None,
) -> None:
    """Every page and field of a recorder, with factory values."""
    menu_map = wiring.menu_map(name)
    version = firmware or menu_map.firmware[-1]
    rows: list[tuple[str, ...]] = []
    for page in menu_map.pages:
        title = f"{page.group}: {page.title}" if page.group else page.title
        for field in menu_map.page_fields(page, version):
            rows.append((title, *_row(menu_map, field, version)))
            title = ""
    columns = ("page", "field", "label", "type", "factory value")
    recorder = f"{menu_map.maker} {menu_map.model}"
    output.table(columns, rows, title=f"{menu_map.id}: {recorder}, firmware {version}")
    output.say(f"{len(rows)} fields; firmware versions: {', '.join(menu_map.firmware)}")


def schema_command() -> None:
    """The JSON Schema of a menu map file."""
    output.raw(map_schema())


def _row(menu_map: MenuMap, field: Field, firmware: str) -> tuple[str, ...]:
    default = menu_map.default(field, firmware)
    value = "" if default is None else default or "(empty)"
    return field.id, field.label, _type(field), value


def _type(field: Field) -> str:
    kind = field.type
    match kind:
        case Choice():
            text = " | ".join(kind.options)
        case Switch():
            text = f"{kind.off} | {kind.on}"
        case Number():
            words = "".join(f"{word} | " for word in kind.words)
            step = "" if kind.step == 1 else f" step {kind.step}"
            text = f"{words}{kind.minimum} to {kind.maximum}{step} {kind.unit}".rstrip()
        case Level():
            text = f"{kind.minimum} to {kind.maximum}"
        case Text() | Secret():
            text = f"{kind.kind}, up to {kind.max_length}"
        case _:
            text = kind.kind
    return f"{text} (runs by itself)" if field.volatile else text
