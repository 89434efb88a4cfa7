"""`asfound bundle`: closed visits leave as one signed bag, and are taken in elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.writer_tag import writer_tag
from asfound.cli import output, wiring
from asfound.cli.drive_test import stopped_as_by_hand
from asfound.cli.home import Home, HomeOption, home_at
from asfound.cli.serve_parts import TRUSTED
from asfound.errors import AsfoundError, ExitCode, InputError, IntegrityError, NotFound, UsageError
from asfound.jobs.bundle_export import ExportBundle, ExportDesk, export_bundle
from asfound.jobs.bundle_import import BundleImported, ImportDesk, import_bundle
from asfound.jobs.bundle_known import Source
from asfound.jobs.footage_requests import of_deletions
from asfound.model.journal import Entry, rfc3339
from asfound.ports.backends.bag_disk import DiskBag, DiskNewBag
from asfound.ports.backends.signatures_ed25519 import Ed25519
from asfound.ports.backends.trusted_keys import trusted_keys
from asfound.units import bytes_text


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="Closed visits as signed bags.")
    group.command(name="key")(key_command)
    group.command(name="export")(export_command)
    group.command(name="import")(import_command)
    group.command(name="aside")(aside_command)
    app.add_typer(group, name="bundle")


def key_command(home: HomeOption = None) -> None:
    """Print this home's public key; the first call makes the key.

    From then on new ids end in its tag, so that two laptops never make the same one.
    """
    pair = home_at(home).keys().own()
    output.say(pair.public.hex())
    output.warn(f"asfound: ids made here end in {writer_tag(pair.public)}")


def export_command(
    to: Annotated[Path, typer.Option(metavar="FOLDER", help="The bag: a new folder.")],
    visits: Annotated[
        list[str] | None, typer.Argument(metavar="[VISIT...]", help="Closed visits.")
    ] = None,
    notes: Annotated[
        bool,
        typer.Option(
            "--notes", help="No visits: all holds, requests, deletions and drives of this home."
        ),
    ] = False,
    with_passwords: Annotated[
        bool, typer.Option("--with-passwords", help="Also where photographs show some.")
    ] = False,
    home: HomeOption = None,
) -> None:
    """Pack closed visits with all they rest on, sign, and read the copies again.

    Holds, requests, ticks and drives of their vehicles go along. Nothing is removed here.
    """
    place = home_at(home)
    desk = ExportDesk(_source(place), place.blobs(), wiring.clock(), Ed25519())
    request = ExportBundle(tuple(visits or ()), with_passwords, notes)
    if place.keys().there() is None:
        output.warn(
            "asfound: this home had no key when its ids were made, so another one may have made "
            "the same; run asfound bundle key before the first visit"
        )
    key = place.keys().own()
    with stopped_as_by_hand(), wiring.progress(f"Packing {to}") as progress:
        made = export_bundle(request, key, bag=DiskNewBag(to), desk=desk, progress=progress)
    if made.removed:
        what = output.count(made.removed, "file")
        output.say(f"a killed export had left {what} there: removed, and all was packed anew")
    told = output.count(len(made.visits), "visit") if made.visits else "notes"
    files = output.count(made.files, "file")
    output.say(f"{to}: {told}, {files}, {bytes_text(made.size)}", style="bold")
    output.say(f"signed with key {made.public}: give it away from the bag")


def import_command(
    bags: Annotated[list[Path], typer.Argument(metavar="BAG...", help="The bags' folders.")],
    key: Annotated[
        list[str] | None, typer.Option(metavar="HEX", help="A key to believe; repeatable.")
    ] = None,
    keys: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Keys to believe, one a line.")
    ] = None,
    home: HomeOption = None,
) -> None:
    """Verify bundles and take in what is not here yet; in any order, and again if need be.

    Exit code 0: taken in, or nothing new; 1: a branch was set aside; 9: a bag was altered.
    """
    place = home_at(home)
    believed = _believed(place, key or [], keys)
    desk = ImportDesk(place.merging(), place.blobs(), wiring.clock(), Ed25519())
    refused: list[AsfoundError] = []
    findings = False
    for bag in bags:
        try:
            with stopped_as_by_hand(), wiring.progress(f"Taking in {bag}") as progress:
                made = import_bundle(DiskBag(bag), believed, desk=desk, progress=progress)
        except (IntegrityError, InputError, NotFound, UsageError) as error:
            told = str(error) if str(error).startswith(str(bag)) else f"{bag}: {error}"
            refused.append(type(error)(told))
            if len(bags) > 1:
                output.warn(f"asfound: {told}")
            continue
        findings = _show(bag, made) or findings
    if refused:
        if len(bags) == 1:
            raise refused[0]
        count = f"{len(refused)} of {len(bags)} bags were refused"
        raise type(refused[0])(f"{count}, the others are here; see above")
    if findings:
        raise typer.Exit(ExitCode.FINDINGS)


def aside_command(
    visit: Annotated[
        str, typer.Argument(metavar="[ID]", help="One visit, request or log of a drive.")
    ] = "",
    home: HomeOption = None,
    json: Annotated[bool, typer.Option("--json", help="Print as JSON.")] = False,
) -> None:
    """What is set aside: of journals that were continued in two places, the branch that does not
    count.

    Exit code 1: there is something.
    """
    entries = home_at(home).merging().set_aside(log=visit or None)
    if json:
        output.json_out([_entry_data(entry) for entry in entries])
    elif entries:
        output.table(
            ("log", "entry", "when", "by", "what", "hash"),
            [
                (
                    one.visit, str(one.seq), rfc3339(one.at)[:16] + "Z", one.by, one.kind,
                    one.hash[:12],
                )
                for one in entries
            ],
        )  # fmt: skip
    else:
        output.say("nothing is set aside")
    if entries:
        raise typer.Exit(ExitCode.FINDINGS)


def _source(place: Home) -> Source:
    return Source(place.store(), place.requests(), place.merging(), place.drives())


def _believed(place: Home, keys: Sequence[str], file: Path | None) -> set[bytes]:
    """Keys of the home's own file, its own key, and those of the call."""
    believed = {bytes.fromhex(text) for text in map(_key, keys)}
    own = place.keys().there()
    if own is not None:
        believed.add(own.public)
    listed = place.path / TRUSTED
    for path in (*((listed,) if listed.exists() else ()), *((file,) if file else ())):
        believed.update(trusted_keys(path))
    return believed


def _key(text: str) -> str:
    figures = text.strip().lower()
    if len(figures) != 64 or not all(sign in "0123456789abcdef" for sign in figures):
        raise UsageError("--key: give the 64 hexadecimal figures that `asfound bundle key` prints")
    return figures


def _show(bag: Path, made: BundleImported) -> bool:
    """Says what was new; True when there is a finding."""
    merged = made.merged
    if made.nothing:
        output.say(f"{bag}: nothing new")
        return False
    parts = (
        (merged.entries, "entry", "entries"), (made.blobs, "file", "files"),
        (merged.holds, "hold", "holds"), (merged.releases, "release", "releases"),
        (merged.ticks, "tick", "ticks"), (merged.places, "place", "places"),
    )  # fmt: skip
    told = ", ".join(output.count(number, one, many) for number, one, many in parts if number)
    output.say(f"{bag}: {told}", style="bold")
    for name in merged.visits:
        output.say(f"visit {name} is here; asfound visit show {name}")
    for name in merged.requests:
        if of_deletions(name):
            output.say("deletions are here; asfound request deletions")
        else:
            output.say(f"request {name} is here; asfound request show {name}")
    for serial in sorted({name.partition("/")[2] for name in merged.drives}):
        output.say(f"drive {serial} has news; asfound drive show {serial}")
    if merged.drives:
        output.say("asfound drive findings says what of drives does not go together")
    for fork in merged.forks:
        count = output.count(fork.entries, "entry", "entries")
        output.say(
            f"{fork.book} {fork.log} was continued in two places: {count} set aside; "
            f"asfound bundle aside {fork.log}"
        )
    for name in merged.twins:
        output.say(f"hold {name}: another hold had its id; both are kept; asfound hold list")
    return bool(merged.forks or merged.twins)


def _entry_data(entry: Entry) -> dict[str, object]:
    return {
        "id": entry.visit, "seq": entry.seq, "at": rfc3339(entry.at), "by": entry.by,
        "kind": entry.kind, "data": dict(entry.data), "previous": entry.previous,
        "hash": entry.hash,
    }  # fmt: skip
