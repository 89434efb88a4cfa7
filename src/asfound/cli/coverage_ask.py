"""What counts, as it is asked on the command line: the same for `coverage` and in a visit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import wiring
from asfound.cli.times import parse_period, parse_time
from asfound.errors import UsageError
from asfound.jobs.coverage import ALLOW_S, Cover
from asfound.jobs.find_pieces import FindPieces, find_pieces, proved_pieces
from asfound.model.coverage import IgnitionLog, Piece, Schedule
from asfound.ports.backends.ignition_csv import load_ignition
from asfound.ports.backends.proof_json import load_proof
from asfound.ports.backends.schedule_toml import load_schedule
from asfound.ports.progress import Progress

PathsArgument = Annotated[
    list[Path],
    typer.Argument(
        metavar="PATH...",
        parser=wiring.place,
        help="Recordings, folders of them, or one proof as JSON.",
    ),
]
IgnitionOption = Annotated[
    Path | None, typer.Option(metavar="LOG.csv", help="When the vehicle drove.")
]
ScheduleOption = Annotated[
    Path | None, typer.Option(metavar="SCHEDULE.toml", help="When it should record.")
]
VehicleOption = Annotated[str, typer.Option(help="The vehicle, where a log tells of several.")]
ChannelOption = Annotated[
    list[int] | None, typer.Option(help="A channel that should be there; may be repeated.")
]
DaysOption = Annotated[
    float | None, typer.Option(help="Days promised: the last so many days count.")
]
SinceOption = Annotated[str, typer.Option(help="Count from here, RFC 3339 with offset.")]
UntilOption = Annotated[str, typer.Option(help="Count up to here, say when the drive was pulled.")]
AllowOption = Annotated[float, typer.Option(help="Longest hole that is no finding, seconds.")]
RequestOption = Annotated[
    str, typer.Option(metavar="FROM/TO", help="A footage request: which of it is on disk.")
]
PatternOption = Annotated[
    str, typer.Option(help="How files are named: {channel}_{start:%Y%m%dT%H%M%SZ}")
]
AheadOption = Annotated[float, typer.Option(help="How far the recorder's clock is ahead, seconds.")]


@dataclass(frozen=True, slots=True)
class Asked:
    """The options as they were typed; ``among``: names that the vehicle has in a log."""

    paths: tuple[Path, ...]
    ignition: Path | None = None
    schedule: Path | None = None
    vehicle: str = ""
    channels: tuple[int, ...] = ()
    days: float | None = None
    since: str = ""
    until: str = ""
    allow: float = ALLOW_S
    request: str = ""
    pattern: str = ""
    clock_ahead: float = 0.0
    among: tuple[str, ...] = ()

    @property
    def file(self) -> str:
        """The name of the log or schedule."""
        given = self.ignition or self.schedule
        return given.name if given is not None else ""


def expected_of(asked: Asked) -> IgnitionLog | Schedule:
    """The log or schedule. Raises UsageError (none or both, a number that cannot be), and what
    loading it raises."""
    _check_numbers(days=asked.days, allow=asked.allow, clock_ahead=asked.clock_ahead)
    if any(number < 1 for number in asked.channels):
        raise UsageError("--channel: channels are counted from 1")
    if asked.ignition is not None and asked.schedule is None:
        return load_ignition(asked.ignition, asked.vehicle, asked.among)
    if asked.schedule is None or asked.ignition is not None:
        raise UsageError("give --ignition LOG.csv or --schedule SCHEDULE.toml, one of them")
    if asked.vehicle:
        raise UsageError("--vehicle belongs to --ignition; leave it out")
    return load_schedule(asked.schedule)


@contextmanager
def covering(
    asked: Asked, expected: IgnitionLog | Schedule, fitted: tuple[int, ...] = ()
) -> Iterator[Cover]:
    """What `cover` is asked, its pieces found while they are read, with progress shown.

    ``fitted`` must be there unless channels were asked for. Raises UsageError and what finding
    pieces raises.
    """
    span = parse_period(asked.request, "--request") if asked.request else None
    begin = parse_time(asked.since, "--since") if asked.since else None
    end = parse_time(asked.until, "--until") if asked.until else None
    now = wiring.clock().now()
    find = FindPieces(asked.paths, now, asked.pattern, asked.clock_ahead)
    with wiring.progress("Looking at containers") as progress:
        yield Cover(
            _pieces(find, progress),
            expected,
            now,
            begin,
            end,
            asked.days,
            asked.allow,
            asked.channels or fitted,
            span,
            asked.channels,
        )


def _pieces(request: FindPieces, progress: Progress) -> Iterator[Piece | str]:
    proofs = [path for path in request.paths if path.suffix.lower() == ".json"]
    if proofs and len(request.paths) > 1:
        raise UsageError(f"{proofs[0]}: a proof stands alone; name it, or recordings")
    if proofs:
        if request.pattern:
            raise UsageError("--pattern belongs to recordings; a proof knows their names already")
        return proved_pieces(load_proof(proofs[0]), request)
    return find_pieces(request, video=wiring.video(), progress=progress)


def _check_numbers(**options: float | None) -> None:
    for name, value in options.items():
        option = f"--{name.replace('_', '-')}"
        if value is None:
            continue
        if not math.isfinite(value) or abs(value) > 1e8:
            raise UsageError(f"{option}: {value} cannot be; give a plain number")
        if (name != "clock_ahead" and value < 0) or (name == "days" and value == 0):
            raise UsageError(f"{option}: must be more than nothing; give a positive number")
