"""`asfound firmware`: the catalogue of images, a folder of them, and the right one to put on."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.firmware_choose import choose_command
from asfound.cli.firmware_file import CatalogueOption, catalogue_at
from asfound.cli.firmware_import import import_command
from asfound.cli.home import HomeOption
from asfound.errors import ExitCode
from asfound.jobs.check_firmware import CheckFirmware, catalogue_findings, check_firmware
from asfound.model.firmware import Catalogue, FileChecked, FileVerdict, Image

LIST_FORMAT = "asfound-firmware-list/1"
CHECK_FORMAT = "asfound-firmware-check/1"

MapOption = Annotated[str, typer.Option("--map", metavar="MAP", help="Of this recorder model.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the documented JSON.")]


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(
        no_args_is_help=True, help="Firmware images: which there are, which is the right one."
    )
    group.command(name="list")(list_command)
    group.command(name="check")(check_command)
    group.command(name="import")(import_command)
    group.command(name="choose")(choose_command)
    app.add_typer(group, name="firmware")


def list_command(
    home: HomeOption = None,
    catalogue: CatalogueOption = None,
    map_id: MapOption = "",
    json: JsonOption = False,
) -> None:
    """Every image of the catalogue.

    Exit code 0: nothing found; 1: an approved image was withdrawn.
    """
    made = catalogue_at(home, catalogue)
    images = [image for image in made.images if map_id in ("", image.map_id)]
    findings = list(catalogue_findings(made))
    if json:
        images_data = [image_data(image) for image in images]
        output.json_out({"format": LIST_FORMAT, "images": images_data, "findings": findings})
    else:
        show_images(made, images)
        for line in findings:
            output.say(line)
    if findings:
        raise typer.Exit(ExitCode.FINDINGS)


def show_images(made: Catalogue, images: list[Image]) -> None:
    """As a table, in the order of the file."""
    orders = {model.map_id: model.scheme.name for model in made.models}
    output.table(
        ("Model", "Hardware", "Version", "Order", "File", "Bytes", "Approved for", "Remarks"),
        [
            (
                image.map_id, ", ".join(image.hardware), image.version, orders[image.map_id],
                image.file, str(image.size), ", ".join(one.fleet for one in image.approved),
                "; ".join(_remarks(image)),
            )
            for image in images
        ],
        right=(5,),
    )  # fmt: skip


def _remarks(image: Image) -> list[str]:
    lines = [f"withdrawn {image.withdrawn.on}"] if image.withdrawn else []
    lines.extend([f"needs {image.needs}"] if image.needs else ())
    lines.extend([f"only over {', '.join(image.stones)}"] if image.stones else ())
    lines.extend([f"not over {', '.join(image.not_over)}"] if image.not_over else ())
    lines.extend([f"no way back below {image.floor}"] if image.floor else ())
    return [*lines, *image.troubles]


def image_data(image: Image) -> dict[str, object]:
    """The documented form (docs/firmware.md)."""
    gone = image.withdrawn
    return {
        "map": image.map_id, "hardware": list(image.hardware), "version": image.version,
        "file": image.file, "size": image.size, "sha256": image.sha256, "notes": image.notes,
        "needs": image.needs, "stones": list(image.stones), "not_over": list(image.not_over),
        "floor": image.floor, "signature": image.signature.hex(),
        "signature_file": image.signature_file, "troubles": list(image.troubles),
        "withdrawn": {"on": gone.on.isoformat(), "why": gone.why} if gone else None,
        "approved": [
            {"fleet": one.fleet, "by": one.by, "on": one.on.isoformat()} for one in image.approved
        ],
    }  # fmt: skip


def check_command(
    folder: Annotated[Path, typer.Argument(help="Folder with the files of the images.")],
    home: HomeOption = None,
    catalogue: CatalogueOption = None,
    map_id: MapOption = "",
    json: JsonOption = False,
) -> None:
    """Files against the catalogue: size, SHA-256, signature, what is unknown, what is missing.

    Exit code 0: every file is right and in use; 1: anything else.
    """
    made = catalogue_at(home, catalogue)
    checked = check_firmware(
        CheckFirmware(made, map_id, wiring.clock().now()),
        files=wiring.firmware_files(folder),
        makers=wiring.makers(),
    )
    if json:
        output.json_out({"format": CHECK_FORMAT, "files": [_file_data(one) for one in checked]})
    else:
        output.table(
            ("File", "Verdict", ""), [(one.file, one.verdict, one.note) for one in checked]
        )
    if any(one.withdrawn or one.verdict is not FileVerdict.RIGHT for one in checked):
        raise typer.Exit(ExitCode.FINDINGS)


def _file_data(one: FileChecked) -> dict[str, object]:
    return {
        "file": one.file, "verdict": one.verdict, "note": one.note, "withdrawn": one.withdrawn,
    }  # fmt: skip
