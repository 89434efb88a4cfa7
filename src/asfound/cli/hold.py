"""`asfound hold`: orders to keep footage."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from asfound.calc.wall_time import moment
from asfound.cli import output
from asfound.cli.home import ByOption, HomeOption, home_at
from asfound.errors import UsageError
from asfound.jobs.holds import PlaceHold, ReleaseHold, list_holds, place_hold, release_hold
from asfound.model.hold import Hold
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.documents import to_data

ReasonOption = Annotated[str, typer.Option("--reason", metavar="WHY", help="Why.")]


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="Orders to keep footage.")
    group.command(name="place")(place_command)
    group.command(name="release")(release_command)
    group.command(name="list")(list_command)
    app.add_typer(group, name="hold")


def place_command(
    vehicle: Annotated[str, typer.Argument(help="Fleet number or plate.")],
    start: Annotated[str, typer.Option("--from", metavar="TIME", help="RFC 3339, or local time.")],
    end: Annotated[str, typer.Option("--to", metavar="TIME", help="RFC 3339, or local time.")],
    reason: ReasonOption,
    by: ByOption,
    home: HomeOption = None,
) -> None:
    """Keep a vehicle's footage; drive steps of its visits stay locked until it is released.

    A time without zone is taken in the fleet's time zone.
    """
    place = home_at(home)
    zone = place.zone()
    # Where a local time happens twice (clocks go back) the hold takes the wider span.
    hold = place_hold(
        PlaceHold(
            place.fleet().vehicle(vehicle),
            parse_time(start, zone, fold=0),
            parse_time(end, zone, fold=1),
            reason,
            by,
            place.writer(),
        ),
        store=place.store(),
        clock=SystemClock(),
    )
    output.say(f"{hold.id}: footage of vehicle {hold.vehicle} is held")
    output.say(f"from {_shown(hold.start, zone)} to {_shown(hold.end, zone)}: {hold.reason}")


def release_command(
    hold: Annotated[str, typer.Argument(help="The hold's id.")],
    reason: ReasonOption,
    by: ByOption,
    home: HomeOption = None,
) -> None:
    """Release a hold: the footage is safe elsewhere, or no longer needed."""
    store = home_at(home).store()
    released = release_hold(ReleaseHold(hold, by, reason), store=store, clock=SystemClock())
    output.say(f"{released.id}: released by {released.released_by}: {released.release_reason}")


def list_command(
    vehicle: Annotated[str | None, typer.Option(help="Only of this vehicle.")] = None,
    home: HomeOption = None,
    json: Annotated[bool, typer.Option("--json", help="Print as JSON.")] = False,
) -> None:
    """All holds, oldest first."""
    place = home_at(home)
    number = place.fleet().vehicle(vehicle).number if vehicle is not None else None
    holds = list_holds(number, store=place.store())
    if json:
        output.json_out([to_data(hold) for hold in holds])
        return
    zone = place.zone()
    output.table(
        ("hold", "vehicle", "from", "to", "why", "placed by", "released"),
        [
            (
                hold.id,
                hold.vehicle,
                _shown(hold.start, zone),
                _shown(hold.end, zone),
                hold.reason,
                hold.placed_by,
                _release(hold),
            )
            for hold in holds
        ],
    )


def parse_time(text: str, zone: ZoneInfo, fold: int = 0) -> datetime:
    """An RFC 3339 time, or a local one in ``zone``, as UTC. Raises UsageError.

    ``fold``: of an hour that comes twice the first (0) or the second one (1).
    """
    try:
        made = datetime.fromisoformat(text.strip())
    except ValueError:
        raise UsageError(
            f"{text!r} is not a time; write 2026-11-25T08:00 or 2026-11-25T08:00:00+01:00"
        ) from None
    try:
        return made.astimezone(UTC) if made.tzinfo is not None else moment(made, zone, fold)
    except (ValueError, OverflowError) as error:
        why = str(error) if made.tzinfo is None else "lies beyond the calendar's end"
        raise UsageError(f"{text!r} {why}; look at the time") from None


def _shown(at: datetime, zone: ZoneInfo) -> str:
    return at.astimezone(zone).isoformat(timespec="minutes")


def _release(hold: Hold) -> str:
    return "" if hold.active else f"by {hold.released_by}: {hold.release_reason}"
