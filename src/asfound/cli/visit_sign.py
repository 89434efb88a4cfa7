"""`asfound visit sign`: somebody signs the visit as it stands."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.home import ByOption, HomeOption, home_at
from asfound.errors import NotFound, UsageError
from asfound.jobs.visit_sign import MAX_BYTES, SignVisit, sign_visit
from asfound.model.visit import SIGNER_ROLES
from asfound.ports.backends.disk import storage_error


def sign_command(
    visit: Annotated[str, typer.Argument(metavar="VISIT", help="The visit's id.")],
    by: ByOption,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE.png", help="The signature as a picture; else the name signs."),
    ] = None,
    role: Annotated[
        str, typer.Option(metavar="ROLE", help=f"Signs as: {', '.join(SIGNER_ROLES)}.")
    ] = SIGNER_ROLES[0],
    home: HomeOption = None,
) -> None:
    """Sign the visit as it stands, open or closed; the report shows it."""
    data = read_signature(picture) if picture is not None else None
    place = home_at(home)
    state = sign_visit(
        SignVisit(visit, by, role, data), desk=place.desk(), pictures=wiring.pictures()
    )
    last = state.signatures[-1]
    entries = output.count(last.entry, "entry", "entries")
    output.say(f"visit {visit} signed by {last.name} ({last.role}): {entries}, head {last.head}")
    output.say(f"next: asfound report {visit}")


def read_signature(path: Path) -> bytes:
    """The bytes of a picture file. Raises NotFound, UsageError, StorageError."""
    if not path.exists():
        raise NotFound(f"{path}: there is no such file; name the signature's picture")
    if not path.is_file():
        raise UsageError(f"{path}: is no file; name the signature's picture")
    try:
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES + 1)
    except OSError as error:
        raise storage_error(error, path) from None
