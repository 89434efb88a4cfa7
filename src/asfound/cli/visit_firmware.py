"""`asfound visit firmware`: choose what is to be put on, and check the stick that holds it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.home import ByOption, HomeOption, home_at
from asfound.errors import ExitCode, UsageError
from asfound.jobs.firmware_gates import choice_shut, rollout_shut
from asfound.jobs.stick_check import check_stick
from asfound.jobs.visit_firmware import (
    ChooseForVisit,
    RecordStick,
    choose_for_visit,
    record_stick,
)
from asfound.model.stick import StickVerdict
from asfound.model.visit import VisitState


def firmware_command(
    visit: Annotated[str, typer.Argument(metavar="VISIT", help="The visit's id.")],
    by: ByOption,
    to: Annotated[
        str, typer.Option(metavar="V", help="This version; else the newest that is allowed.")
    ] = "",
    hardware: Annotated[
        str, typer.Option(metavar="R", help="Hardware revision, as the label says.")
    ] = "",
    stick: Annotated[
        Path | None,
        typer.Option(metavar="MOUNT", help="Check the stick with the image that is mounted here."),
    ] = None,
    home: HomeOption = None,
) -> None:
    """Record which firmware is to be put on, by catalogue and rollouts, and the check of its stick.

    With --stick alone the choice stays. Exit code 0: it may be put on; 1: something keeps it.
    """
    place = home_at(home)
    desk = place.desk()
    state = place.visit(visit)
    if state.choice is None or to or hardware or stick is None:
        state, _ = choose_for_visit(ChooseForVisit(visit, by, to, hardware), desk=desk)
    if stick is not None:
        state = _stick(state, stick, by, home)
    show_firmware(state)
    shut = [why for why in (choice_shut(state), rollout_shut(state)) if why]
    for why in shut:
        output.say(f"locked: {why}")
    if shut or (state.choice is not None and state.choice.findings):
        raise typer.Exit(ExitCode.FINDINGS)


def _stick(state: VisitState, mount: Path, by: str, home: Path | None) -> VisitState:
    choice = state.choice
    if choice is not None and choice.catalogue and not choice.path:
        raise UsageError(f"nothing is to be put on: {choice.to} is installed; leave --stick out")
    with wiring.progress(f"Checking {mount}") as progress:
        checked = check_stick("", stick=wiring.stick(mount), progress=progress)
    return record_stick(RecordStick(state.id, checked, by), desk=home_at(home).desk())


def show_firmware(state: VisitState) -> None:
    """What was chosen and what the stick holds; nothing where nobody chose."""
    choice, stick = state.choice, state.stick
    if choice is not None:
        checked = "" if choice.catalogue else ", without a catalogue"
        output.say(f"firmware by {choice.by}: {choice.installed} to {choice.to}{checked}")
        if choice.refused:
            output.say(f"  refused: {choice.refused}")
        for step in choice.path:
            output.say(f"  {step.over} → {step.version}: {step.file}, SHA-256 {step.sha256}")
        for line in (*choice.findings, *choice.warnings):
            output.say(f"  {line}")
    if stick is not None:
        good = stick.verdict == StickVerdict.UNCHANGED
        said = f"{stick.image}, SHA-256 {stick.sha256}" if good else "; ".join(stick.notes)
        output.say(f"stick checked by {stick.by}: {stick.verdict}: {said}")
