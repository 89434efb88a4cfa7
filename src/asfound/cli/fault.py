"""`asfound fault`: ranked causes of a fault, and the check to make next."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output
from asfound.cli.fault_show import FORMAT, LIST_FORMAT, fault_data, list_data, show, show_list
from asfound.cli.fault_walk import FaultWalk, walk
from asfound.cli.home import Home, HomeOption, home_at
from asfound.cli.keys import Keyboard
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode, UsageError
from asfound.jobs.ask_fault import AskFault, ask_fault, ask_sure
from asfound.jobs.fault_tables import NO_COUNTS, FaultTables, fault_tables
from asfound.jobs.find_fault import SURE, FaultVerdict, FaultView, FindFault, find_fault
from asfound.jobs.plot_fault import plot_fault

SymptomOption = Annotated[
    list[str] | None,
    typer.Option("--symptom", metavar="ID", help="A symptom that is there. May be repeated."),
]
WithoutOption = Annotated[
    list[str] | None,
    typer.Option("--without", metavar="ID", help="A symptom that is not there."),
]
CheckedOption = Annotated[
    list[str] | None,
    typer.Option(
        "--checked", metavar="CHECK=OUTCOME", help="A check and what it showed, in their order."
    ),
]
TriedOption = Annotated[
    list[str] | None,
    typer.Option("--tried", metavar="CAUSE", help="A cause that was repaired in vain."),
]
DataOption = Annotated[
    Path | None,
    typer.Option("--data", metavar="FILE", help="Another fault guide (docs/faults.md)."),
]
LearnOption = Annotated[
    bool, typer.Option("--learn/--no-learn", help="Count what closed visits recorded.")
]


def register(app: typer.Typer) -> None:
    """Adds the command and its list."""
    group = typer.Typer(help="Find the fault: likely causes, and the check to make next.")
    group.callback(invoke_without_command=True)(fault_command)
    group.command(name="list")(list_command)
    app.add_typer(group, name="fault")


def fault_command(  # noqa: PLR0913 (an option each)
    context: typer.Context,
    symptom: SymptomOption = None,
    without: WithoutOption = None,
    checked: CheckedOption = None,
    tried: TriedOption = None,
    sure: Annotated[str, typer.Option(help="Chance that is enough to repair.")] = f"{SURE:.0%}",
    ask: Annotated[
        bool, typer.Option("--ask", help="Ask check by check; without anything else it does, too.")
    ] = False,
    data: DataOption = None,
    learn: LearnOption = True,
    plot: PlotFile = None,
    home: HomeOption = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Likely causes of a fault, and the check that tells most a minute.

    Exit code 0 when one cause is sure enough, 1 when there is something to check or to try first.
    """
    if context.invoked_subcommand is not None:
        return
    plot_form(plot)
    place = home_at(home)
    asked = AskFault(symptom or (), without or (), checked or (), tried or ())
    enough = ask_sure(sure)
    tables = tables_of(place, data, learn)
    evidence = ask_fault(asked, tables.guide)
    nothing = not evidence.steps and not evidence.tried
    if ask and json:
        raise UsageError("--ask and --json do not go together; leave one out")
    if ask or (nothing and not json and sys.stdin is not None and sys.stdin.isatty()):
        view = walk(FaultWalk(tables, place.cautions(), enough, Keyboard(), evidence))
    elif nothing:
        raise UsageError("name what is seen: --symptom ID (`asfound fault list`), or --ask")
    else:
        request = FindFault(tables, evidence, enough)
        view = find_fault(request)
        _print(request, view, place, json)
    write_plot(plot_fault(view, enough), plot)
    if view.verdict is not FaultVerdict.SURE:
        raise typer.Exit(ExitCode.FINDINGS)


def list_command(
    data: DataOption = None,
    learn: LearnOption = True,
    home: HomeOption = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {LIST_FORMAT}.")] = False,
) -> None:
    """Every symptom, check and cause, by the ids that `asfound fault` takes."""
    tables = tables_of(home_at(home), data, learn)
    if json:
        output.json_out(list_data(tables))
    else:
        show_list(tables)


def tables_of(place: Home, data: Path | None, learn: bool) -> FaultTables:
    """The guide with what closed visits taught. Raises NotFound, InputError, StorageError."""
    guide = place.faults(data)
    return fault_tables(guide, place.fault_counts(guide) if learn else NO_COUNTS)


def _print(request: FindFault, view: FaultView, place: Home, json: bool) -> None:
    if json:
        output.json_out(fault_data(request, view))
    else:
        show(request, view, place.cautions())
