"""`asfound evidence copy`: recordings that somebody needs, as a signed bag."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from asfound.cli import output, wiring
from asfound.cli.drive_test import stopped_as_by_hand
from asfound.cli.hold import parse_time
from asfound.cli.home import ByOption, HomeOption, home_at
from asfound.errors import ExitCode
from asfound.jobs.evidence_copy import CopyEvidence, Desk, copy_evidence, offset_text
from asfound.ports.backends.bag_disk import DiskNewBag
from asfound.ports.backends.signatures_ed25519 import Ed25519, FileKeys
from asfound.units import bytes_text


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="Footage that someone needs.")
    group.command(name="copy")(copy_command)

    @group.callback()
    def _group() -> None:
        """Footage that someone needs."""

    app.add_typer(group, name="evidence")


def copy_command(  # noqa: PLR0913 (an option each)
    paths: Annotated[list[Path], typer.Argument(help="Recordings, or folders of them.")],
    to: Annotated[Path, typer.Option(metavar="FOLDER", help="The bag: a new folder.")],
    vehicle: Annotated[str, typer.Option(help="Whose recordings they are.")],
    start: Annotated[str, typer.Option("--from", metavar="TIME", help="True time, RFC 3339.")],
    until: Annotated[str, typer.Option(metavar="TIME", help="True time, RFC 3339.")],
    why: Annotated[str, typer.Option(help="Why, and on whose authority.")],
    by: ByOption,
    offset: Annotated[
        float | None, typer.Option(help="Recorder's clock minus true time, seconds: 258 is fast.")
    ] = None,
    pattern: Annotated[str, typer.Option(help="How files are named (docs/proof.md).")] = "",
    everything: Annotated[bool, typer.Option("--all", help="Every file, of any time.")] = False,
    remux: Annotated[
        bool, typer.Option("--remux", help="Beside each recording an MP4 that players play.")
    ] = False,
    home: HomeOption = None,
) -> None:
    """Copy whole files that overlap the span, hash them, read them again, pack and sign.

    The originals are opened for reading alone. Exit code 1: some files could not be placed in time
    and were left out.
    """
    place = home_at(home)
    # A time without zone is the fleet's; only then is a fleet file wanted.
    # Of an hour that comes twice the span takes both, so that nothing is left behind.
    begin, end = _time(start, place.zone, 0), _time(until, place.zone, 1)
    request = CopyEvidence(tuple(paths), vehicle, begin, end, by, why, offset, everything, pattern)
    desk = Desk(
        wiring.video(), Ed25519(), wiring.clock(), wiring.pdf(), wiring.remuxer() if remux else None
    )
    key = FileKeys(place.path / "signing.key").own()
    with stopped_as_by_hand(), wiring.progress(f"Copying to {to}") as progress:
        made = copy_evidence(request, key, bag=DiskNewBag(to), desk=desk, progress=progress)
    if made.removed:
        what = output.count(made.removed, "file")
        output.say(f"a killed copy had left {what} there: removed, and all was copied anew")
    files = output.count(made.files, "file")
    output.say(
        f"{to}: {files}, {bytes_text(made.size)}, each read again and the same", style="bold"
    )
    output.say(offset_text(offset))
    output.say(f"signed with key {made.public}: give it away from the bag")
    for name in made.no_channel:
        output.say(f"which channel it is cannot be told: {name}")
    if remux:
        output.say(f"{output.count(made.remuxed, 'MP4')} made beside them, not the evidence itself")
    for line in made.not_remuxed:
        output.say(f"no MP4 beside {line}")
    for line in made.left_out:
        output.say(f"left out: {line}")
    if made.left_out:
        raise typer.Exit(ExitCode.FINDINGS)


def _time(text: str, zone: Callable[[], ZoneInfo], fold: int) -> datetime:
    made = parse_time(text, ZoneInfo("UTC"))
    naive = datetime.fromisoformat(text.strip()).tzinfo is None
    return parse_time(text, zone(), fold) if naive else made
