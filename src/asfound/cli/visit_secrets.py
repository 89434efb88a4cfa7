"""`asfound visit hide-secrets`: passwords in the stored photographs are painted over."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.home import ByOption, Home, HomeOption, home_at
from asfound.errors import ExitCode, UsageError
from asfound.jobs.fold_secrets import outstanding, pending_removals, unplaced_text
from asfound.jobs.hide_secrets import HideSecrets, hide_secrets
from asfound.jobs.visit_gates import secrets_shown
from asfound.model.visit import VisitState

ELSEWHERE = (
    "the phone, and the folder that was read, still hold these pictures; delete them there, too"
)


def hide_command(
    visit: Annotated[str, typer.Argument(metavar="VISIT", help="The visit's id.")],
    by: ByOption,
    whole: Annotated[
        bool,
        typer.Option(
            "--whole", help="Paint over all of a photograph where the place could not be told."
        ),
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    home: HomeOption = None,
) -> None:
    """Paint over passwords in the stored photographs, and delete the originals.

    What was read stays: a password is "set" or "blank". Exit code 1: something is left.
    """
    place = home_at(home)
    state = place.visit(visit)
    if not outstanding(state) and not pending_removals(state):
        output.say("no stored photograph shows a password")
        return
    show_pictures(state)
    if not yes:
        if not sys.stdin.isatty():
            raise UsageError("nobody is there to ask; --yes paints over and deletes the originals")
        if not _agreed():
            output.say("nothing was changed")
            raise typer.Exit(ExitCode.FINDINGS)
    if hide(place, visit, by, whole):
        raise typer.Exit(ExitCode.FINDINGS)


def show_pictures(state: VisitState) -> None:
    """The photographs that show passwords, and what would be painted over."""
    rows = [
        (
            Path(item.file).name,
            item.page or "?",
            ", ".join(spot.field for spot in item.spots if spot.outline is not None),
            "" if item.placed else f"{unplaced_text(item)}: --whole, or left as it is",
        )
        for item in outstanding(state)
    ]
    if rows:
        output.table(("photograph", "page", "painted over", ""), rows)
    if waiting := pending_removals(state):
        output.say(f"{output.count(len(waiting), 'picture')} to delete")


def offer_hiding(place: Home, state: VisitState, by: str) -> VisitState:
    """At closing time: the question, when somebody can be asked; else the notice. Returns the
    visit as it then stands."""
    why = secrets_shown(state)
    if why is None:
        return state
    if sys.stdin.isatty():
        show_pictures(state)
        if _agreed():
            hide(place, state.id, by, whole=False)
            return place.visit(state.id)
    show_notice(state)
    return state


def show_notice(state: VisitState) -> None:
    """One line while stored photographs show passwords; nothing else."""
    why = secrets_shown(state)
    if why is not None and not state.closed:
        output.say(f"{why}; asfound visit hide-secrets {state.id} --by NAME", style="bold yellow")
    elif why is not None:
        output.say(f"closed all the same: {why}", style="bold yellow")


def hide(place: Home, visit: str, by: str, whole: bool) -> bool:
    """Does it and tells; True when something is left."""
    with wiring.progress("Painting over") as progress:
        done = hide_secrets(
            HideSecrets(visit, by, whole),
            desk=place.desk(),
            pictures=wiring.painter(),
            progress=progress,
        )
    output.say(
        f"{output.count(done.painted, 'photograph')} painted over, "
        f"{output.count(done.removed, 'original')} deleted"
    )
    for line in done.left:
        output.say(line, style="bold yellow")
    if done.removed:
        output.say(ELSEWHERE)
    return bool(done.left)


def _agreed() -> bool:
    output.say("Paint these places over and delete the originals from the store? y or n")
    return sys.stdin.readline().strip().lower() in ("y", "yes")
