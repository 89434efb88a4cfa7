"""`asfound request`: footage that someone asks for, and what has to be deleted."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output
from asfound.cli.hold import parse_time
from asfound.cli.home import ByOption, Home, HomeOption, home_at
from asfound.cli.request_show import located_data, request_data, show_list, show_one
from asfound.errors import ExitCode, UsageError
from asfound.jobs.deletions import LogDeleted, deletions_done, deletions_due, log_deleted
from asfound.jobs.drive_register import list_drives
from asfound.jobs.footage_requests import (
    AddRequest,
    AskedWrong,
    EndRequest,
    add_request,
    answer_request,
    close_request,
    list_requests,
    one_request,
    present,
)
from asfound.jobs.request_known import known_of
from asfound.jobs.request_look import LookFor, Sources, look_for
from asfound.jobs.request_where import Located, in_order
from asfound.model.footage_request import FootageRequest, RequestState
from asfound.model.journal import rfc3339
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.ignition_csv import load_ignition

FORMAT = "asfound-requests/1"
TELL = timedelta(minutes=2)
"""Clocks of two computers that agree lie no further apart (own choice)."""
OPTIONS = {
    "start": "--from", "end": "--until", "channels": "--channels", "why": "--why",
    "authority": "--authority", "clock_ahead_s": "--clock-ahead",
}  # fmt: skip
"""Options by the field of a request that a fault is about."""
DELETIONS_FORMAT = "asfound-deletions/1"
OVER_WEEK = "Days a week that it drives, where no log tells."

RequestArgument = Annotated[str, typer.Argument(metavar="REQUEST", help="The request's id.")]
JsonOption = Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")]
IgnitionOption = Annotated[
    Path | None, typer.Option(metavar="LOG.csv", help="When the vehicle drove.")
]
WeekOption = Annotated[float, typer.Option(metavar="DAYS", min=0.25, max=7, help=OVER_WEEK)]
WhyOption = Annotated[str, typer.Option("--reason", metavar="WHY", help="What came of it.")]


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="Footage that someone asks for.")
    group.command(name="add")(add_command)
    group.command(name="list")(list_command)
    group.command(name="show")(show_command)
    group.command(name="answer")(answer_command)
    group.command(name="close")(close_command)
    group.command(name="deletions")(deletions_command)
    group.command(name="deleted")(deleted_command)
    app.add_typer(group, name="request")


def add_command(  # noqa: PLR0913 (an option each)
    vehicle: Annotated[str, typer.Option(help="Fleet number or plate.")],
    start: Annotated[str, typer.Option("--from", metavar="TIME", help="RFC 3339, or local time.")],
    end: Annotated[str, typer.Option("--until", metavar="TIME", help="RFC 3339, or local time.")],
    why: Annotated[str, typer.Option(help="What it is wanted for.")],
    authority: Annotated[str, typer.Option(metavar="WHO", help="Who asks, by what right.")],
    by: ByOption,
    channels: Annotated[str, typer.Option(metavar="2,3", help="Channels; else all.")] = "",
    clock_ahead: Annotated[
        float, typer.Option(metavar="SECONDS", help="How far the recorder's clock was ahead.")
    ] = 0.0,
    hold: Annotated[bool, typer.Option("--hold", help="Lock drive steps of its visits.")] = False,
    home: HomeOption = None,
) -> None:
    """Take down a request for footage; times are true time, in the fleet's zone where none is said.

    Exit code 0: its footage should be there; 1: it may be gone, or it cannot be told.
    """
    place = home_at(home)
    zone = place.zone()
    # Where a local time happens twice (clocks go back) the request takes the wider span.
    asked = AddRequest(
        place.fleet().vehicle(vehicle), parse_time(start, zone, fold=0),
        parse_time(end, zone, fold=1), _channels(channels), why, authority, by, clock_ahead, hold,
        place.writer(),
    )  # fmt: skip
    try:
        made = add_request(asked, log=place.requests(), store=place.store(), clock=SystemClock())
    except AskedWrong as error:
        raise UsageError(f"{OPTIONS[error.part]}: {error}") from None
    found = _located(place, (made,), None, 7.0)[0]
    show_one(found, zone)
    _exit_by((found,))


def list_command(
    vehicle: Annotated[str | None, typer.Option(help="Only of this vehicle.")] = None,
    everything: Annotated[bool, typer.Option("--all", help="Closed ones, too.")] = False,
    ignition: IgnitionOption = None,
    week: WeekOption = 7.0,
    home: HomeOption = None,
    json: JsonOption = False,
) -> None:
    """Requests by the hour at which their footage may be gone: what to do first.

    Exit code 0: the footage of all open ones should be there; 1: some may be gone.
    """
    place = home_at(home)
    number = place.fleet().vehicle(vehicle).number if vehicle is not None else None
    asked = [
        one for one in list_requests(place.requests(), number)
        if everything or one.state is not RequestState.CLOSED
    ]  # fmt: skip
    found = in_order(_located(place, tuple(asked), ignition, week))
    if json:
        output.json_out({"format": FORMAT, "requests": [located_data(one) for one in found]})
    else:
        show_list(found, place.zone())
    _exit_by(found)


def show_command(
    request: RequestArgument,
    ignition: IgnitionOption = None,
    week: WeekOption = 7.0,
    home: HomeOption = None,
    json: JsonOption = False,
) -> None:
    """One request: where its footage should be, how likely, and until which hour."""
    place = home_at(home)
    asked = one_request(place.requests(), request)
    found = _located(place, (asked,), ignition, week)[0]
    if json:
        output.json_out({"format": FORMAT, "requests": [located_data(found)]})
    else:
        show_one(found, place.zone())
    _exit_by((found,))


def answer_command(
    request: RequestArgument,
    by: ByOption,
    reason: WhyOption,
    copy: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="A copy handed over; repeatable.")
    ] = None,
    home: HomeOption = None,
    json: JsonOption = False,
) -> None:
    """Say what came of a request, and name the copies that were handed over."""
    asked = EndRequest(request, by, reason, tuple(copy or ()))
    _ended(answer_request(asked, log=home_at(home).requests(), clock=SystemClock()), json)


def close_command(
    request: RequestArgument,
    by: ByOption,
    reason: WhyOption,
    home: HomeOption = None,
    json: JsonOption = False,
) -> None:
    """Close a request. A hold that it placed stays until `asfound hold release`."""
    asked = EndRequest(request, by, reason)
    _ended(close_request(asked, log=home_at(home).requests(), clock=SystemClock()), json)


def deletions_command(
    home: HomeOption = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {DELETIONS_FORMAT}.")] = False,
) -> None:
    """What must be deleted, and when; then what was.

    Exit code 0: nothing is overdue; 1: something is.
    """
    place = home_at(home)
    log, zone = place.requests(), place.zone()
    now = _now(place)
    due = deletions_due(place.fleet(), log=log, store=place.store())
    done = deletions_done(log)
    if json:
        output.json_out(
            {
                "format": DELETIONS_FORMAT,
                "due": [
                    {
                        "item": one.item, "vehicle": one.vehicle, "what": one.what,
                        "due": rfc3339(one.due), "overdue": one.due <= now, "held": list(one.held),
                    }
                    for one in due
                ],
                "done": [
                    {"item": one.item, "by": one.by, "note": one.note, "at": rfc3339(one.at)}
                    for one in done
                ],
            }
        )  # fmt: skip
    else:
        output.table(
            ("item", "vehicle", "what", "delete by", "kept by"),
            [
                (
                    one.item, one.vehicle, one.what,
                    "now" if one.due <= now else f"{one.due.astimezone(zone):%Y-%m-%d %H:%M}",
                    ", ".join(one.held),
                )
                for one in due
            ],
        )  # fmt: skip
        for gone in done:
            day = f"{gone.at.astimezone(zone):%Y-%m-%d %H:%M}"
            output.say(f"deleted {gone.item} {day} by {gone.by}: {gone.note}")
    if any(one.due <= now and not one.held for one in due):
        raise typer.Exit(ExitCode.FINDINGS)


def deleted_command(
    item: Annotated[str, typer.Argument(help="As `asfound request deletions` calls it.")],
    by: ByOption,
    note: Annotated[str, typer.Option(help="How it was deleted.")],
    home: HomeOption = None,
) -> None:
    """Write down that something was deleted; refused while a hold keeps it."""
    place = home_at(home)
    made = log_deleted(
        LogDeleted(item, by, note, place.writer()), place.fleet(), log=place.requests(),
        store=place.store(), clock=SystemClock(),
    )  # fmt: skip
    output.say(f"{made.item}: deleted by {made.by}: {made.note}")


def _ended(made: FootageRequest, json: bool) -> None:
    if json:
        output.json_out({"format": FORMAT, "requests": [request_data(made)]})
        return
    output.say(f"{made.id}: {made.state} by {made.done_by}: {made.note}")
    if made.hold:
        output.say(f"its hold {made.hold} stays until `asfound hold release {made.hold}`")


def _located(
    place: Home, asked: tuple[FootageRequest, ...], ignition: Path | None, week: float
) -> tuple[Located, ...]:
    now, fleet = _now(place), place.fleet()
    log = None
    if ignition is not None and asked:
        if len({one.vehicle for one in asked}) > 1:
            raise UsageError("--ignition: a log tells of one vehicle; name it with --vehicle")
        vehicle = fleet.vehicle(asked[0].vehicle)
        log = load_ignition(ignition, "", (vehicle.number, vehicle.plate))
    store, blobs = place.store(), place.blobs()
    sources = Sources(
        lambda number: known_of(number, store=store, blobs=blobs),
        place.menu_map,
        lambda: list_drives(place.drives(), store),
    )
    return look_for(LookFor(fleet, asked, now, week, log), sources)


def _now(place: Home) -> datetime:
    now, shown = present(place.requests(), SystemClock()), SystemClock().now()
    if now > shown + TELL:
        output.warn(
            f"asfound: this computer's clock says {rfc3339(shown)[:16]}Z, before the last entry "
            f"({rfc3339(now)[:16]}Z), which counts instead; look at the clock"
        )
    return now


def _channels(text: str) -> tuple[int, ...]:
    if not text.strip():
        return ()
    parts = [part.strip() for part in text.split(",")]
    if not all(re.fullmatch(r"[1-9][0-9]{0,2}", part) for part in parts):
        raise UsageError(f"--channels {text!r}: write numbers from 1 with commas: 2,3")
    return tuple(sorted({int(part) for part in parts}))


def _exit_by(found: tuple[Located, ...]) -> None:
    waiting = [one for one in found if one.request.state is RequestState.OPEN]
    if any(one.likely_there is None or one.likely_there < 1 for one in waiting):
        raise typer.Exit(ExitCode.FINDINGS)
