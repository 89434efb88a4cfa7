"""`asfound stick`: a USB stick with exactly one firmware image, prepared and checked afterwards."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.drive_test import figure, stopped_as_by_hand
from asfound.cli.firmware_file import CatalogueOption
from asfound.cli.home import ByOption, HomeOption
from asfound.cli.stick_wanted import Asked, wanted_image
from asfound.errors import ExitCode, UsageError
from asfound.jobs.drive_test import CAUTION, DriveTest
from asfound.jobs.stick_check import check_stick
from asfound.jobs.stick_data import FORMAT, checked_data, prepared_data
from asfound.jobs.stick_prepare import PrepareStick, StickTools, prepare_stick
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import (
    Entry,
    StickChecked,
    StickFinding,
    StickPrepared,
    StickVerdict,
)
from asfound.ports.backends.map_file import folder_on_stick, stick_pattern
from asfound.units import BYTES, bytes_text

SHOWN = 20
HOW = {"direct": "past the computer's memory", "dropped": "after the memory was dropped"}
SAID = {
    StickVerdict.PREPARED: "prepared: exactly this image, read back and the same; eject it before "
    "you pull it",
    StickVerdict.BLOCKED: "blocked: nothing was written",
    StickVerdict.UNCHANGED: "unchanged: the image is the one that was put there",
    StickVerdict.CHANGED: "changed: look before you use it again",
    StickVerdict.COULD_NOT_TELL: "could not tell: there is no slip to hold it against",
}


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="USB sticks with one firmware image.")
    group.command(name="prepare")(prepare_command)
    group.command(name="check")(check_command)
    app.add_typer(group, name="stick")


def prepare_command(  # noqa: PLR0913 (an option each)
    to: Annotated[Path, typer.Option("--to", metavar="MOUNT", help="Where the stick is mounted.")],
    by: ByOption,
    image: Annotated[
        Path | None, typer.Argument(metavar="IMAGE", help="The firmware image; else --vehicle.")
    ] = None,
    vehicle: Annotated[
        str, typer.Option(help="Instead of IMAGE: what the catalogue chooses for this vehicle.")
    ] = "",
    version: Annotated[
        str, typer.Option("--to-version", metavar="V", help="With --vehicle: this version.")
    ] = "",
    installed: Annotated[
        str, typer.Option(metavar="V", help="With --vehicle: what is on it; else the fleet file.")
    ] = "",
    hardware: Annotated[str, typer.Option(metavar="R", help="With --vehicle: revision.")] = "",
    images_in: Annotated[
        Path | None,
        typer.Option("--images", metavar="DIR", help="Where images lie; else firmware/ at home."),
    ] = None,
    map_name: Annotated[
        str, typer.Option("--map", metavar="MAP", help="The recorder's menu map: where it looks.")
    ] = "",
    folder: Annotated[
        str | None, typer.Option(help="Instead: the folder where it looks; empty: the top.")
    ] = None,
    pattern: Annotated[str, typer.Option(help='Instead: the names that it takes: "*.img".')] = "",
    name: Annotated[
        str, typer.Option("--as", metavar="NAME", help="Name on the stick; else the image's own.")
    ] = "",
    sha256: Annotated[str, typer.Option("--sha256", help="What the image must have.")] = "",
    remove: Annotated[
        list[str] | None,
        typer.Option("--remove-others", metavar="NAME", help="Remove this other image."),
    ] = None,
    test: Annotated[
        str, typer.Option(metavar="all|samples|SIZE", help="Test its free space first.")
    ] = "",
    home: HomeOption = None,
    catalogue: CatalogueOption = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Copy the image, read it back past the cache, leave a slip; nothing else is touched.

    Exit code 0: prepared; 1: something is in the way, or is prepared and there are findings.
    """
    if not by.strip():
        raise UsageError("say who prepares it: --by NAME")
    asked = Asked(to, image, vehicle, version, installed, hardware, images_in, sha256)
    wanted = wanted_image(asked, map_name, (home, catalogue))
    place, recorder = _place(wanted.map_name, folder, pattern)
    request = PrepareStick(
        place, f"{recorder}{wanted.words}", by.strip(), name, wanted.sha256, tuple(remove or ()),
        _test(test),
    )  # fmt: skip
    if request.test is not None:
        output.warn(f"asfound: caution: {CAUTION}")
    with stopped_as_by_hand(), wiring.progress(f"Preparing {to}") as progress:
        tools = StickTools(wiring.stick(to), wiring.drive_space(to), wiring.clock(), progress)
        result = prepare_stick(request, image=wiring.image(wanted.path, to), tools=tools)
    result = replace(result, findings=(*result.findings, *wanted.findings))
    if json:
        output.json_out(prepared_data(result))
    else:
        for line in wanted.lines:
            output.say(line)
        _show_prepared(to, result)
    if result.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def check_command(
    mount: Annotated[Path, typer.Argument(metavar="MOUNT", help="Where the stick is mounted.")],
    sha256: Annotated[
        str, typer.Option("--sha256", help="What the image must have, besides the slip.")
    ] = "",
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """After the visit: whether the image is unchanged, and what the recorder added.

    Writes nothing. Exit code 0: unchanged; 1: something is not as it was, or there is no slip.
    """
    with wiring.progress(f"Checking {mount}") as progress:
        result = check_stick(sha256, stick=wiring.stick(mount), progress=progress)
    if json:
        output.json_out(checked_data(result))
    else:
        _show_checked(mount, result)
    if result.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def _place(map_name: str, folder: str | None, pattern: str) -> tuple[FirmwarePlace, str]:
    """Where the recorder looks, and its name. Raises UsageError, NotFound, MapError."""
    if pattern:
        if map_name:
            raise UsageError("say --map, or --folder and --pattern, one of them")
        try:
            made = FirmwarePlace(folder_on_stick(folder or ""), stick_pattern(pattern))
        except ValueError as error:
            raise UsageError(f"--folder, --pattern: {error}") from None
        return made, ""
    if not map_name or folder is not None:
        raise UsageError("say where the recorder looks: --map MAP, or --pattern with --folder")
    menu_map = wiring.menu_map(map_name)
    if menu_map.firmware_file is None:
        raise UsageError(
            f"menu map {menu_map.id} does not say where the recorder looks for firmware; add "
            "[firmware_file] to it, or give --folder and --pattern"
        )
    return menu_map.firmware_file, f"{menu_map.maker} {menu_map.model}"


def _test(text: str) -> DriveTest | None:
    if not text:
        return None
    most = None if text in ("all", "samples") else int(figure(text, "--test", BYTES))
    return DriveTest(secrets.randbits(63), most, text == "samples")


def _show_prepared(to: Path, result: StickPrepared) -> None:
    facts = result.facts
    rows = [
        ("file system", f"{facts.kind} on {facts.device}"),
        ("size", f"{bytes_text(facts.total)}, {bytes_text(facts.free)} free before"),
        ("image", f"{result.image}, {result.size} bytes"),
        ("SHA-256", result.sha256),
    ]
    if result.past:
        was = "was there already, read again" if result.kept else "read back"
        rows.append((was, HOW.get(result.past, "perhaps from the computer's memory")))
    output.table(("", ""), rows, title=str(to))
    output.say(SAID[result.verdict], style="bold")
    _show_findings(result.findings)
    for one in result.removed:
        output.say(f"removed as asked: {one}")
    if result.left_over:
        output.say("cleared what an interrupted run had left")
    _show_entries("also on the stick, left alone", result.others)


def _show_checked(mount: Path, result: StickChecked) -> None:
    if slip := result.slip:
        rows = [
            ("image", f"{slip.image}, {slip.size} bytes"),
            ("SHA-256 now", result.sha256 or "the image is not there"),
            ("prepared", f"{slip.when} by {slip.by}"),
            ("recorder", slip.recorder or "not said"),
        ]
        if result.past:
            rows.append(("read", HOW.get(result.past, "perhaps from the computer's memory")))
        output.table(("", ""), rows, title=str(mount))
    output.say(SAID[result.verdict], style="bold")
    _show_findings(result.findings)
    _show_entries("added since", result.added)


def _show_findings(findings: Sequence[StickFinding]) -> None:
    for one in findings:
        output.say(f"{one.kind}: {f'{one.path} ' if one.path else ''}{one.note}")


def _show_entries(title: str, entries: Sequence[Entry]) -> None:
    for one in entries[:SHOWN]:
        size = bytes_text(one.size) if one.size >= 1000 else output.count(one.size, "byte")
        size = size if one.kind == "file" else one.kind
        output.say(f"{title}: {one.path} ({size})")
    if len(entries) > SHOWN:
        output.say(f"{title}: {len(entries) - SHOWN} more; --json names them")
