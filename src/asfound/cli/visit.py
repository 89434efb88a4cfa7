"""`asfound visit`: one service of one vehicle, from opening to closing."""

from __future__ import annotations

from typing import Annotated

import typer

from asfound.cli import output, visit_cover, visit_fault, visit_jobs, visit_settle
from asfound.cli.home import ByOption, HomeOption, home_at
from asfound.cli.visit_firmware import firmware_command
from asfound.cli.visit_secrets import hide_command, offer_hiding, show_notice
from asfound.cli.visit_show import (
    next_step,
    settle_hint,
    show_doubts,
    show_visit,
    show_visits,
)
from asfound.cli.visit_sign import sign_command
from asfound.errors import ExitCode, IntegrityError, UsageError
from asfound.jobs.visit_act import (
    AddNote,
    CloseVisit,
    OverrideGate,
    TickStep,
    close_visit,
    note,
    override,
    tick,
)
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_open import OpenVisit, list_visits, open_visit
from asfound.model.bundle import Book
from asfound.ports.documents import to_data

VisitArgument = Annotated[str, typer.Argument(metavar="VISIT", help="The visit's id.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print as JSON.")]


def register(app: typer.Typer) -> None:
    """Adds the commands, in the order of the job."""
    group = typer.Typer(no_args_is_help=True, help="One service of one vehicle.")
    group.command(name="open")(open_command)
    group.command(name="list")(list_command)
    group.command(name="show")(show_command)
    group.command(name="read")(visit_jobs.read_command)
    group.command(name="doubts")(doubts_command)
    group.command(name="settle")(visit_settle.settle_command)
    group.command(name="firmware")(firmware_command)
    group.command(name="done")(done_command)
    group.command(name="rekey")(visit_jobs.rekey_command)
    group.command(name="compare")(visit_jobs.compare_command)
    group.command(name="prove")(visit_jobs.prove_command)
    group.command(name="coverage")(visit_cover.coverage_command)
    group.command(name="fault")(visit_fault.fault_command)
    group.command(name="note")(note_command)
    group.command(name="override")(override_command)
    group.command(name="hide-secrets")(hide_command)
    group.command(name="close")(close_command)
    group.command(name="sign")(sign_command)
    group.command(name="check")(check_command)
    app.add_typer(group, name="visit")


def open_command(
    vehicle: Annotated[str, typer.Argument(help="Fleet number or plate.")],
    procedure: Annotated[
        str, typer.Option(help="firmware-and-reset, drive-swap, inspection, or your own.")
    ],
    by: ByOption,
    firmware: Annotated[
        str | None, typer.Option(help="What the recorder shows; else as in the fleet file.")
    ] = None,
    home: HomeOption = None,
) -> None:
    """Open a visit."""
    place = home_at(home)
    fleet = place.fleet()
    found = fleet.vehicle(vehicle)
    menu_map = place.menu_map(found.recorder.map_id)
    made = place.procedure(procedure)
    desk = place.desk()
    request = OpenVisit(
        found, fleet.name, fleet.time_zone, made, menu_map, by, firmware, desk.writer
    )
    state = open_visit(
        request, store=desk.store, blobs=desk.blobs, clock=desk.clock, rules=desk.rules
    )
    output.say(f"visit {state.id} is open; next: asfound visit show {state.id}")


def list_command(home: HomeOption = None, json: JsonOption = False) -> None:
    """All visits, newest first."""
    place = home_at(home)
    lines = list_visits(store=place.store())
    if json:
        output.json_out([to_data(line) for line in lines])
        return
    show_visits(lines, place.zone())


def show_command(visit: VisitArgument, home: HomeOption = None, json: JsonOption = False) -> None:
    """Where a visit stands: steps, what locks them and why, cautions at the present step."""
    place = home_at(home)
    state = place.visit(visit)
    if json:
        output.json_out(to_data(state))
        return
    show_visit(state, place.cautions(), place.zone())
    show_notice(state)


def doubts_command(visit: VisitArgument, home: HomeOption = None) -> None:
    """What is still to be settled: of the settings as left when they were read, else as found."""
    place = home_at(home)
    state = place.visit(visit)
    menu_map = place.visit_map(state)
    left = 0
    if state.as_found is None:
        raise UsageError(f"nothing was read yet; asfound visit read {state.id} PHOTO...")
    if not state.rounds or state.rounds[-1].reading != state.as_found:
        output.say("as found", style="bold")
        left += show_doubts(state.as_found, state.settled, menu_map)
    if state.rounds:
        output.say(f"as left, round {len(state.rounds)}", style="bold")
        left += show_doubts(state.rounds[-1].reading, state.rounds[-1].settled, menu_map)
    if left:
        settle_hint(state)
        raise typer.Exit(ExitCode.FINDINGS)


def done_command(  # noqa: PLR0913 (an option each)
    visit: VisitArgument,
    steps: Annotated[list[str], typer.Argument(metavar="STEP...", help="Steps' ids, in order.")],
    by: ByOption,
    note: Annotated[str, typer.Option(help="What there is to say about it.")] = "",
    firmware: Annotated[
        str | None, typer.Option(metavar="VERSION", help="What the recorder shows now.")
    ] = None,
    drive_out: Annotated[
        str, typer.Option(metavar="SERIAL", help="The drive that came out, at a drive step.")
    ] = "",
    drive_in: Annotated[
        str, typer.Option(metavar="SERIAL", help="The drive that went in; the same: it stayed.")
    ] = "",
    home: HomeOption = None,
) -> None:
    """Tick steps off, in the order given."""
    place = home_at(home)
    state = place.visit(visit)
    if len(steps) > 1 and (firmware is not None or note or drive_out or drive_in):
        raise UsageError(
            "--note, --firmware and drives belong to one step; tick that step by itself"
        )
    menu_map = place.visit_map(state)
    for step in steps:
        request = TickStep(visit, step, by, note, firmware, menu_map, drive_out, drive_in)
        state = tick(request, desk=place.desk())
        output.say(f"{step} is done")
    next_step(state)


def note_command(
    visit: VisitArgument,
    text: Annotated[str, typer.Argument(help="What you saw.")],
    by: ByOption,
    step: Annotated[str, typer.Option(help="The step it belongs to.")] = "",
    home: HomeOption = None,
) -> None:
    """Write something down."""
    note(AddNote(visit, by, text, step), desk=home_at(home).desk())
    output.say("noted")


def override_command(
    visit: VisitArgument,
    step: Annotated[str, typer.Argument(help="The step's id.")],
    gate: Annotated[str, typer.Argument(help="The gate's name.")],
    by: ByOption,
    reason: Annotated[str, typer.Option(metavar="WHY", help="Why; it stands in the report.")],
    home: HomeOption = None,
) -> None:
    """Pass a shut gate, with your name and a reason. A hold is released instead."""
    state = override(OverrideGate(visit, step, gate, by, reason), desk=home_at(home).desk())
    output.say(f"gate {gate} of step {step} is overridden by {by}; the report says so")
    next_step(state)


def close_command(
    visit: VisitArgument,
    by: ByOption,
    note: Annotated[str, typer.Option(help="What there is to say about it.")] = "",
    home: HomeOption = None,
) -> None:
    """Close the visit; it takes no more entries."""
    place = home_at(home)
    offer_hiding(place, place.visit(visit), by)
    state = close_visit(CloseVisit(visit, by, note), desk=place.desk())
    output.say(f"visit {state.id} is closed: {state.entries} entries, head {state.head}")
    output.say(f"next: asfound report {state.id}")


def check_command(visit: VisitArgument, home: HomeOption = None, json: JsonOption = False) -> None:
    """Check the journal's chain, and that every stored document and picture is unaltered."""
    place = home_at(home)
    with output.progress_bar("Checking") as progress:
        found = check_visit(visit, store=place.store(), blobs=place.blobs(), progress=progress)
    if json:
        output.json_out(to_data(found))
    for fault in () if json else found.faults:
        output.say(fault)
    if found.faults:
        count = f"{len(found.faults)} fault{'' if len(found.faults) == 1 else 's'}"
        raise IntegrityError(f"visit {visit}: {count}; bring database and blobs back from a copy")
    if not json:
        output.say(
            f"visit {visit}: {found.entries} entries chained, {found.blobs} stored documents and "
            f"pictures unaltered, head {found.head}"
        )
    aside = place.merging().set_aside(Book.VISIT, visit)
    if aside and not json:
        entries = output.count(len(aside), "entry", "entries")
        output.say(
            f"visit {visit} was continued in two places: {entries} set aside; "
            f"asfound bundle aside {visit}"
        )
    if aside:
        raise typer.Exit(ExitCode.FINDINGS)
