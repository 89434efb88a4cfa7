"""`asfound firmware import SHEET FOLDER -o NEW.toml`: a catalogue from a sheet and its files."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.errors import ExitCode, InputError
from asfound.jobs.import_firmware import ImportFirmware, import_firmware
from asfound.ports.backends.disk import storage_error
from asfound.ports.backends.firmware_sheet import load_sheet
from asfound.ports.backends.firmware_toml import load_catalogue
from asfound.ports.backends.new_file import check_new, hash_file, part_of, publish


def import_command(
    sheet: Annotated[Path, typer.Argument(help="Sheet that names the images: CSV or TOML.")],
    folder: Annotated[Path, typer.Argument(help="Folder with the files of the images.")],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="NEW.toml", help="A new file.")],
) -> None:
    """A catalogue from a sheet and files, hashed; a new file, approved by nobody yet.

    Exit code 0: every file is in it; 1: files that the sheet does not name were left out.
    """
    check_new(out)
    request = ImportFirmware(str(sheet), load_sheet(sheet))
    made = import_firmware(request, files=wiring.firmware_files(folder))
    with part_of(out) as part:
        try:
            part.write_text(made.text, encoding="utf-8")
        except OSError as error:
            raise storage_error(error, out) from None
        try:
            load_catalogue(part)
        except InputError as error:
            text = str(error).replace(str(part), str(out))
            raise InputError(f"{text}\n{out} was not written; correct {sheet}") from None
        hash_file(part)
        publish(part, out)
    images = output.count(len(made.images), "image")
    output.say(f"{out}: {images}, approved by nobody yet", style="bold")
    for name in made.left_out:
        output.say(f"left out, the sheet does not name it: {name}")
    if made.left_out:
        raise typer.Exit(ExitCode.FINDINGS)
