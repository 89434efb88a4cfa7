"""Who looks at recordings and what is remembered of them: the same for each command that does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.home import Home
from asfound.jobs.prove_files import Helpers

WorkersOption = Annotated[
    str,
    typer.Option(
        "--workers", metavar="N|dask://HOST:PORT", help="Processes; 0: none. Else all cores."
    ),
]
FreshOption = Annotated[
    bool, typer.Option("--fresh", help="Look at files again that are known from before.")
]
EveryByteOption = Annotated[
    bool, typer.Option("--every-byte", help="Tell known files by all their bytes.")
]


@contextmanager
def helpers(
    home: Home,
    paths: Sequence[Path],
    workers: str = "",
    fresh: bool = False,
    every_byte: bool = False,
) -> Iterator[Helpers]:
    """Workers and remembered results for ``paths``; says how many were remembered.

    Raises UsageError, MissingPart, NotFound for workers that cannot be had.
    """
    hands = wiring.workers(workers)
    holder = _holder(home, paths)
    if holder:
        output.warn(
            f"asfound: nothing is remembered: {home.path} lies inside {holder}; choose another "
            "folder (--home)"
        )
        yield Helpers(hands)
        return
    results = wiring.results(home.proofs(), every_byte)
    try:
        yield Helpers(hands, results, fresh)
    finally:
        results.close()
    if results.recalled:
        known = output.count(results.recalled, "file")
        output.warn(f"asfound: {known} known from before; --fresh looks again")


def _holder(home: Home, paths: Sequence[Path]) -> str:
    """The path that the home lies in, if any: nothing is ever written below what is looked at."""
    place = _resolved(home.path)
    return next((str(path) for path in paths if place.is_relative_to(_resolved(path))), "")


def _resolved(path: Path) -> Path:
    """Itself where links lead nowhere or round in circles: that is said by whoever opens it."""
    try:
        return path.resolve()
    except (OSError, RuntimeError):
        return path.absolute()
