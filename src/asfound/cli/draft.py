"""`asfound draft`: photographs of a recorder without a menu map to a drafted map."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.read import photo_files
from asfound.errors import ExitCode, UsageError
from asfound.jobs.draft_map import Drafted, DraftMap, draft_from_photos
from asfound.model.draft import Draft
from asfound.ports.backends.map_draft import load_draft, save_draft
from asfound.ports.backends.map_toml import load_map

SHOWN = 12
"""Things to look at that are listed; the file marks all of them."""


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("draft")(draft)


def draft(
    photos: Annotated[list[Path], typer.Argument(help="Photographs, or folders of them.")],
    out: Annotated[Path, typer.Option("-o", "--out", metavar="MAP.toml", help="File to write.")],
    model: Annotated[
        str | None, typer.Option(metavar='"MAKER MODEL"', help="The recorder's names.")
    ] = None,
    onto: Annotated[
        Path | None, typer.Option(metavar="MAP.toml", help="A drafted map to add to.")
    ] = None,
) -> None:
    """Draft a menu map from photographs of a recorder that has none.

    One folder for each vehicle. Exit code 0: nothing is marked for you; 1: the file marks what
    to look at (`check`); 4: a file is no picture (the rest is used all the same).
    """
    base = load_draft(onto) if onto is not None else None
    maker, name = _names(model, base)
    same = onto is not None and out.exists() and out.resolve() == onto.resolve()
    if out.exists() and not same:
        raise UsageError(f"{out}: is there already; add to it with --onto, or name another file")
    files = photo_files(photos)
    with (
        tempfile.TemporaryDirectory(prefix="asfound-") as scratch,
        wiring.progress("Drafting") as progress,
    ):
        drafted = draft_from_photos(
            DraftMap(files, maker, name, base),
            pictures=wiring.pictures(),
            ocr=wiring.ocr(),
            blobs=wiring.blobs(Path(scratch)),
            progress=progress,
        )
    save_draft(drafted.draft, out, onto)
    load_map(out)
    _show(drafted, out)
    for note in drafted.damaged:
        output.warn(f"asfound: {note}")
    if drafted.damaged:
        raise typer.Exit(ExitCode.BAD_PICTURE)
    if drafted.checks or drafted.notes:
        raise typer.Exit(ExitCode.FINDINGS)


def _names(model: str | None, base: Draft | None) -> tuple[str, str]:
    if base is not None:
        return base.maker, base.model
    words = (model or "").split(maxsplit=1)
    if not words:
        raise UsageError('the recorder has no name; give --model "Maker Model"')
    return words[0], words[-1]


def _show(drafted: Drafted, out: Path) -> None:
    pages = drafted.draft.pages
    rows = [
        (
            f"{page.group}: {page.title}" if page.group else page.title,
            str(len(page.fields)),
            str(page.seen),
            str(sum(bool(item.check) for item in page.fields) or ""),
        )
        for page in pages
    ]
    output.table(("page", "rows", "photographs", "to check"), rows, right=(1, 2, 3))
    output.say()
    for title, item, check in drafted.checks[:SHOWN]:
        where = f"{title}: {item.label}" if item is not None else title
        output.say(f"look at  {where}: {check}")
    if len(drafted.checks) > SHOWN:
        output.say(f"... and {len(drafted.checks) - SHOWN} more, marked with check in the file")
    for note in drafted.notes:
        output.say(f"note: {note}")
    fields = sum(len(page.fields) for page in pages)
    cameras = output.count(drafted.draft.cameras, "camera")
    output.say(
        f"{out}: {output.count(len(pages), 'page')}, {output.count(fields, 'row')}, {cameras}, "
        f"from {output.count(drafted.photos, 'photograph')}; "
        f"{output.count(len(drafted.checks), 'thing')} to check",
        "bold",
    )
    output.say(f"next: correct the file, `asfound map check {out}`, `asfound read ... --map {out}`")
