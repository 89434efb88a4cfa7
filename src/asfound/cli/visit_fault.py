"""`asfound visit fault`: what a fault came from, kept in the visit."""

from __future__ import annotations

from typing import Annotated

import typer

from asfound.cli import output
from asfound.cli.fault import CheckedOption, DataOption, SymptomOption, TriedOption, WithoutOption
from asfound.cli.home import ByOption, HomeOption, home_at
from asfound.jobs.ask_fault import AskFault, ask_fault
from asfound.jobs.visit_fault import RecordFault, record_fault


def fault_command(  # noqa: PLR0913 (an option each)
    visit: Annotated[str, typer.Argument(metavar="VISIT", help="The visit's id.")],
    cause: Annotated[
        str, typer.Option(metavar="ID", help="What was repaired and helped (`asfound fault list`).")
    ],
    by: ByOption,
    symptom: SymptomOption = None,
    without: WithoutOption = None,
    checked: CheckedOption = None,
    tried: TriedOption = None,
    note: Annotated[str, typer.Option(help="What there is to say about it.")] = "",
    instead: Annotated[
        bool, typer.Option("--instead", help="In place of the visit's last record of a fault.")
    ] = False,
    data: DataOption = None,
    home: HomeOption = None,
) -> None:
    """Record what a fault came from; once the visit is closed, `asfound fault` learns from it."""
    place = home_at(home)
    guide = place.faults(data)
    asked = AskFault(symptom or (), without or (), checked or (), tried or ())
    evidence = ask_fault(asked, guide)
    request = RecordFault(visit, guide, cause, evidence, by, note, instead)
    state = record_fault(request, desk=place.desk())
    output.say(f"recorded: {state.faults[-1].title}; it counts once visit {state.id} is closed")
