"""`asfound verify BAG`: whether a bag is what was packed and signed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.errors import InputError, IntegrityError, NotFound
from asfound.jobs.bag_verify import verify_bag
from asfound.model.bag import BagVerified
from asfound.ports.backends.bag_disk import DiskBag
from asfound.ports.backends.signatures_ed25519 import Ed25519
from asfound.ports.signatures import KEY_BYTES
from asfound.units import bytes_text

FORMAT = "asfound-verify/1"


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="verify")(verify_command)


def verify_command(
    bag: Annotated[Path, typer.Argument(metavar="BAG", help="The bag's folder.")],
    key: Annotated[
        str, typer.Option(metavar="PUBLIC", help="Public key it must be signed with, or its file.")
    ] = "",
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Hold a bag against its own manifests and signature; nothing else is needed.

    Exit code 0: whole; 9: it is not what was packed.
    """
    public = _public(key) if key else None
    with wiring.progress(f"Verifying {bag}") as progress:
        result = verify_bag(DiskBag(bag), signatures=Ed25519(), key=public, progress=progress)
    if json:
        output.json_out(verified_data(bag, result))
    else:
        _show(result)
    if result.faults:
        found = output.count(len(result.faults), "fault")
        raise IntegrityError(f"{bag}: is not what was packed, {found}; ask for another copy")


def verified_data(bag: Path, result: BagVerified) -> dict[str, object]:
    """The documented form (docs/evidence.md)."""
    return {
        "format": FORMAT,
        "bag": str(bag),
        "version": result.version,
        "whole": not result.faults,
        "files": result.files,
        "bytes": result.size,
        "signed_by": result.signed_by,
        "known_key": result.known_key,
        "faults": [
            {"kind": str(one.kind), "path": one.path, "note": one.note} for one in result.faults
        ],
    }


def _show(result: BagVerified) -> None:
    for one in result.faults:
        output.say(f"{one.kind}: {one.path or 'the bag'}: {one.note}")
    files = output.count(result.files, "file")
    output.say(f"{files}, {bytes_text(result.size)}")
    if not result.faults:
        output.say("whole: every file is what was packed", style="bold")
    if not result.signed_by:
        output.say("no signature that holds: who packed it cannot be told from the bag")
    elif result.known_key:
        output.say("signed with the key that was given")
    else:
        output.say(f"signed with key {result.signed_by}; compare it with one you know: --key")


def _public(text: str) -> bytes:
    """Raises NotFound, InputError."""
    if len(text) != 2 * KEY_BYTES:
        path = Path(text)
        if not path.is_file():
            raise NotFound(f"--key {text}: neither 64 hexadecimal figures nor a file with them")
        with path.open("rb") as stream:
            text = stream.read(1000).decode("ascii", "replace").strip()
    try:
        public = bytes.fromhex(text)
    except ValueError:
        public = b""
    if len(public) != KEY_BYTES:
        raise InputError("--key: no public key of 64 hexadecimal figures; ask whoever signed")
    return public
