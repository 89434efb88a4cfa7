"""`asfound drive test`: whether a stick or drive holds what it says, within its free space."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from signal import SIGHUP, SIGTERM, Handlers, getsignal, signal
from types import FrameType
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.drive_health import show_findings
from asfound.errors import ExitCode, StorageError, UsageError
from asfound.jobs.drive_data import tested_data
from asfound.jobs.drive_test import CAUTION, DriveTest, try_drive
from asfound.model.drive_test import DriveTested, DriveTestVerdict
from asfound.units import BYTES, MB, RATES, bytes_text, parse_quantity

FORMAT = "asfound-drive-test/1"
SAID = {
    DriveTestVerdict.SOUND: "sound: all that was written came back",
    DriveTestVerdict.SIZE_TRUE: (
        "size true: every sample came back; single bad places were not looked for"
    ),
    DriveTestVerdict.FAULTY: "faulty: do not record on it",
    DriveTestVerdict.COULD_NOT_TELL: "could not tell: nothing wrong in what was looked at",
}
SHOWN = 12


def try_command(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="Where the drive is mounted.")],
    most: Annotated[str, typer.Option(help="Test so much of it at most: 2GB.")] = "",
    sampled: Annotated[
        bool, typer.Option("--sampled", help="Write samples alone: quick, finds false sizes only.")
    ] = False,
    needs: Annotated[str, typer.Option(help="What it has to take: 16Mbit/s.")] = "",
    clean: Annotated[
        bool, typer.Option("--clean", help="Only remove what a killed test left.")
    ] = False,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Write test files into free space, read them back, remove them; nothing else is touched.

    Exit code 0: nothing found; 1: faults, or too little was tested to tell.
    """
    if clean:
        _clean(path)
        return
    request = DriveTest(
        secrets.randbits(63),
        None if not most else int(figure(most, "--most", BYTES)),
        sampled,
        None if not needs else figure(needs, "--needs", RATES) / 8,
    )
    output.warn(f"asfound: caution: {CAUTION}")
    space = wiring.drive_space(path)
    with stopped_as_by_hand(), wiring.progress(f"Testing {path}") as progress:
        result = try_drive(request, space=space, clock=wiring.clock(), progress=progress)
    if json:
        output.json_out({"format": FORMAT, "path": str(path), **tested_data(result)})
    else:
        _show(path, result)
    if result.verdict not in (DriveTestVerdict.SOUND, DriveTestVerdict.SIZE_TRUE):
        raise typer.Exit(ExitCode.FINDINGS)
    if result.findings:
        raise typer.Exit(ExitCode.FINDINGS)


@contextmanager
def stopped_as_by_hand() -> Iterator[None]:
    """A closed terminal and a polite kill end as Ctrl-C does: the test's files are removed."""
    ours = [one for one in (SIGTERM, SIGHUP) if getsignal(one) is Handlers.SIG_DFL]
    for one in ours:
        signal(one, _stop)
    try:
        yield
    finally:
        for one in ours:
            signal(one, Handlers.SIG_DFL)


def _stop(_signal: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def _clean(path: Path) -> None:
    """Raises StorageError when files of ours stay."""
    space = wiring.drive_space(path)
    removed = space.begin().removed
    left = space.end().left
    if left:
        raise StorageError(f"{path}: {left[0]} cannot be removed; look at the drive's permissions")
    output.say(f"removed {output.count(removed, 'file')} of an earlier, killed test")


def figure(text: str, name: str, units: dict[str, float]) -> float:
    """An option's quantity. Raises UsageError."""
    try:
        found = parse_quantity(text, units)
    except ValueError as error:
        raise UsageError(f"{name}: {error}") from None
    if not found:
        raise UsageError(f"{name} {text}: more than 0 is wanted")
    return found


def _show(path: Path, result: DriveTested) -> None:
    output.table(("", ""), _rows(result), title=str(path))
    output.say(SAID[result.verdict], style="bold")
    show_findings(result.findings)
    for one in result.bad[:SHOWN]:
        output.say(f"  from {bytes_text(one.start)} of the test: {one.length} bytes: {one.what}")
    if len(result.bad) > SHOWN:
        output.say(f"  and {len(result.bad) - SHOWN} places more; --json names them")
    for line in result.unclear:
        output.say(f"could not tell: {line}")
    if result.removed:
        output.say(f"removed {output.count(result.removed, 'file')} of an earlier, killed test")
    if result.left:
        output.say(
            f"could not remove {output.count(len(result.left), 'file')} of the test; the next test "
            "of this place does, or --clean"
        )


def _rows(result: DriveTested) -> list[tuple[str, str]]:
    how = {"direct": "past the computer's memory", "dropped": "after the memory was dropped"}
    rows = [
        ("drive", f"{bytes_text(result.total)}, {bytes_text(result.free)} free before the test"),
        ("looked at", bytes_text(result.span) + (", samples of it" if result.sampled else "")),
        ("written", _rate(result.written, result.write_rate)),
        ("read back", f"{_rate(result.read, result.read_rate)} {how.get(result.past, '')}".strip()),
        ("came back right", bytes_text(result.good)),
    ]
    if result.real is not None:
        rows.append(("really holds about", bytes_text(result.real)))
    return rows


def _rate(size: int, rate: float | None) -> str:
    return bytes_text(size) + ("" if rate is None else f", {rate / MB:.1f} MB/s")
