"""Logs of driving from files: opened here, read by jobs as they come."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.errors import NotFound
from asfound.jobs.ask_track import TrackAsk
from asfound.jobs.read_track import ReadTrack, read_track
from asfound.model.drive_log import LogFault
from asfound.model.track_log import TrackLog
from asfound.ports.backends.disk import storage_error

CHUNK = 1 << 20
SHOWN = 5
"""Faults that are shown; the JSON has more."""

ColumnsOption = Annotated[
    str, typer.Option(help="Columns of a CSV: time=1,lat=Latitude,lon=3,speed=v.")
]
SpeedUnitOption = Annotated[str, typer.Option(help="km/h, m/s, mph or knots.")]
TimesOption = Annotated[str, typer.Option(help="Times in a CSV: iso, s or ms since 1970.")]
ZoneOption = Annotated[str, typer.Option(help="Zone of times without offset; else UTC.")]
DecimalOption = Annotated[str, typer.Option(help="Decimal sign of a CSV: . or ,")]
DayOption = Annotated[
    str, typer.Option(help="About when the log was made, for dates 1024 weeks early or missing.")
]


def track_from(path: Path, ask: TrackAsk) -> TrackLog:
    """The log in a file. Raises NotFound, StorageError, InputError, UsageError."""
    today = wiring.clock().now().date()
    return read_track(ReadTrack(path.name, chunks_of(path), ask.form, ask.day, today))


def chunks_of(path: Path) -> Iterator[bytes]:
    """A file's bytes. Raises NotFound, StorageError."""
    try:
        with path.open("rb") as file:
            while chunk := file.read(CHUNK):
                yield chunk
    except (FileNotFoundError, IsADirectoryError):
        raise NotFound(f"{path}: no such file; check the path") from None
    except OSError as error:
        raise storage_error(error, path) from None


def say_log(log: TrackLog) -> None:
    """What was read of a log, and what was left out."""
    left = sum(log.counts.values())
    line = f"{log.name}: {output.count(len(log.track), 'fix', 'fixes')}"
    if left:
        kinds = ", ".join(f"{number} {kind}" for kind, number in sorted(log.counts.items()))
        line += f", {left} left out ({kinds})"
    output.say(line)
    for note in log.notes:
        output.say(f"  {note}")
    say_faults(log.faults)


def say_faults(faults: tuple[LogFault, ...]) -> None:
    """The first faults."""
    for fault in faults[:SHOWN]:
        output.warn(f"{fault.where}: {fault.what}")


def log_data(log: TrackLog) -> dict[str, object]:
    """The documented form (docs/bench.md)."""
    return {
        "name": log.name,
        "fixes": len(log.track),
        "left_out": {str(kind): number for kind, number in sorted(log.counts.items())},
        "faults": [{"where": fault.where, "what": fault.what} for fault in log.faults],
        "early_weeks": log.early_weeks,
        "notes": list(log.notes),
    }
