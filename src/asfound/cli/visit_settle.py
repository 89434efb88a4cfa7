"""`asfound visit settle`: one value named on the command line, or all doubts, one key each."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.open_values import unlisted
from asfound.cli import output, wiring
from asfound.cli.home import ByOption, Home, HomeOption, home_at
from asfound.cli.keys import Keyboard
from asfound.cli.settle import UNLISTED, Table, settle_doubts, terminal_way
from asfound.cli.visit_show import next_step, value_text
from asfound.errors import ExitCode, UsageError
from asfound.jobs.field_picture import FieldPictures
from asfound.jobs.visit_act import Settle, settle
from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_settle import TakeBack, ToSettle, finish_settling, take_back, to_settle
from asfound.model.menu_map import MenuMap


@dataclass(frozen=True)
class JournalKeeper:
    """Answers as entries of a visit's journal: one when given, one when taken back."""

    visit: str
    menu_map: MenuMap
    by: str
    as_left: bool
    desk: Desk

    def keep(self, field: str, value: str) -> None:
        """Raises what ``visit_act.settle`` raises."""
        request = Settle(self.visit, self.menu_map, field, value, self.by, self.as_left, tick=False)
        settle(request, desk=self.desk)

    def take_back(self, field: str) -> None:
        """Raises what ``visit_settle.take_back`` raises."""
        take_back(TakeBack(self.visit, field, self.by, self.as_left), desk=self.desk)


def settle_command(
    visit: Annotated[str, typer.Argument(metavar="VISIT", help="The visit's id.")],
    by: ByOption,
    field: Annotated[
        str | None, typer.Argument(help="The field's id; without it all doubts are asked.")
    ] = None,
    value: Annotated[
        str | None, typer.Argument(help='Its value; a switch is "on" or "off".')
    ] = None,
    as_found: Annotated[
        bool, typer.Option("--as-found", help="Settle the as-found reading all the same.")
    ] = False,
    home: HomeOption = None,
) -> None:
    """Settle doubts with what you see on the recorder: each is shown, one key answers it.

    With FIELD and VALUE that one is settled and nothing is asked. Exit code 1: some are left.
    """
    place = home_at(home)
    if field is None:
        _ask_all(place, visit, by, None if not as_found else False)
        return
    if value is None:
        raise UsageError(
            f"name the value of {field} as well, or no field at all to be asked about each"
        )
    menu_map = place.visit_map(place.visit(visit))
    request = Settle(visit, menu_map, field, value, by, False if as_found else None)
    state = settle(request, desk=place.desk())
    output.say(f"{field} is settled as {value_text(menu_map, field, value)} by {by}")
    item = menu_map.field(field)
    if unlisted(item.type, item.drafted, value):
        output.say(UNLISTED, style="yellow")
    next_step(state)


def _ask_all(place: Home, visit: str, by: str, as_left: bool | None) -> None:
    state = place.visit(visit)
    menu_map = place.visit_map(state)
    asked = to_settle(state, menu_map, as_left)
    desk = place.desk()
    keeper = JournalKeeper(visit, menu_map, by, asked.as_left, desk)
    left = 0
    if asked.session.questions:
        left = _session(asked, keeper)
    else:
        output.say("nothing is in doubt")
    state = place.visit(visit) if asked.as_left else finish_settling(visit, by, desk=desk)
    if asked.reading.missing_pages:
        pages = output.count(len(asked.reading.missing_pages), "page")
        output.say(f"{pages} still to photograph; their settings were not asked")
    next_step(state)
    if left or asked.reading.missing_pages:
        raise typer.Exit(ExitCode.FINDINGS)


def _session(asked: ToSettle, keeper: JournalKeeper) -> int:
    """Ask; returns how many are left."""
    pictures = wiring.pictures()
    views = FieldPictures(asked.reading, pictures=pictures, blobs=keeper.desk.blobs)
    with tempfile.TemporaryDirectory(prefix="asfound-") as folder:
        table = Table(keeper, Keyboard(), views, pictures, Path(folder), terminal_way())
        session = settle_doubts(asked.session, table)
    left = len(session.left())
    settled = output.count(len(session.values()), "value")
    output.say(f"{settled} settled by {keeper.by}, {left} left")
    return left
