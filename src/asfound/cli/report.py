"""`asfound report`: the visit's report, and its re-key sheet, as PDF."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.home import Home, HomeOption, home_at
from asfound.errors import NotFound, UsageError
from asfound.jobs.report import Report
from asfound.jobs.report_visit import ReportTools, ReportVisit, rekey_visit, report_visit
from asfound.ports.backends.disk import storage_error


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="report")(report_command)


def report_command(
    visit: Annotated[str, typer.Argument(metavar="VISIT", help="The visit's id.")],
    to: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.pdf", help="Else VISIT.pdf, here."),
    ] = None,
    rekey: Annotated[
        bool, typer.Option("--rekey", help="Print the re-key sheet instead of the report.")
    ] = False,
    home: HomeOption = None,
) -> None:
    """Write the visit's report as PDF/A: a draft while the visit is open.

    The same visit gives the same file, byte by byte. A PDF of that name is replaced; any other
    file is left alone.
    """
    place = home_at(home)
    path = to if to is not None else Path(f"{visit}-rekey.pdf" if rekey else f"{visit}.pdf")
    check_target(path)
    made = _made(visit, place, rekey)
    write_whole(path, made.pdf)
    output.say(f"{path}: {len(made.pdf) / 1000:.0f} kB, SHA-256 {made.sha256}")


def _made(visit: str, place: Home, rekey: bool) -> Report:
    tools = ReportTools(place.store(), place.blobs(), wiring.pdf(), wiring.pictures())
    if rekey:
        return rekey_visit(visit, tools=tools)
    request = ReportVisit(visit, place.fleet().time_zone, place.cautions())
    return report_visit(request, tools=tools)


def check_target(path: Path) -> None:
    """Raises UsageError when ``path`` is something else than a PDF, NotFound without folder."""
    if not path.parent.is_dir():
        raise NotFound(f"{path.parent}: there is no such folder; make it first")
    if path.is_dir():
        raise UsageError(f"{path}: is a folder; name a file: -o {path / 'report.pdf'}")
    check_replaced(path, b"%PDF-", "a PDF")


def check_replaced(path: Path, begins: bytes, what: str) -> None:
    """Raises UsageError when ``path`` is there and is something else than ``what``."""
    if not path.exists():
        return
    if not path.is_file():
        # Renaming a file over a device would take the device away from everybody.
        raise UsageError(f"{path}: is no file and is left alone; choose another name")
    with path.open("rb") as stream:
        head = stream.read(len(begins))
    if head not in (begins, b""):
        raise UsageError(f"{path}: is not {what} and is left alone; choose another name")


def write_page(path: Path, page: str) -> None:
    """Write a sheet as a page; an older page of that name is replaced, any other file is not.

    Raises UsageError, StorageError.
    """
    try:
        check_replaced(path, b"<!DOCTYPE html>", "a page")
        write_whole(path, page.encode("utf-8"))
    except OSError as error:
        raise storage_error(error, path) from None


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is either the old or the new one, never half of it."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:80]}-", suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        # mkstemp makes files for the owner alone: give the usual permissions back.
        umask = os.umask(0)
        os.umask(umask)
        part.chmod(0o666 & ~umask)
        part.replace(path)
    except OSError:
        part.unlink(missing_ok=True)
        raise
