"""Which firmware catalogue a command works with."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli.home import CATALOGUE as FILE
from asfound.cli.home import home_at
from asfound.errors import NotFound
from asfound.model.firmware import Catalogue
from asfound.ports.backends.firmware_toml import load_catalogue

CatalogueOption = Annotated[
    Path | None,
    typer.Option("--catalogue", metavar="FILE", help=f"Catalogue; else {FILE} of the home folder."),
]


def catalogue_at(home: Path | None, named: Path | None) -> Catalogue:
    """The catalogue that was named, else the home folder's. Raises NotFound, InputError."""
    path = named or home_at(home).path / FILE
    if named is None and not path.exists():
        raise NotFound(
            f"{path}: there is no firmware catalogue; asfound firmware import makes one "
            "(docs/firmware.md)"
        )
    return load_catalogue(path)
