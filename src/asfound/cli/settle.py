"""Doubts settled at the keyboard: one question at a time, one key each.

Each answer is kept before the next question is shown, so that stopping, Ctrl-C or a pulled plug
loses nothing that was answered.
"""

from __future__ import annotations

import os
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from asfound.calc.open_values import unlisted
from asfound.calc.settling import (
    KeyPress,
    Question,
    Settling,
    answered,
    key_press,
    skipped,
    undone,
)
from asfound.calc.typed_value import typed_value
from asfound.cli import output
from asfound.cli.half_blocks import Way, drawn, way_of
from asfound.cli.keys import Keyboard
from asfound.jobs.field_picture import FieldPictures
from asfound.model.kinds import FieldType, Secret
from asfound.model.reading import State
from asfound.model.values import shown
from asfound.ports.pictures import Pictures, Pixels

KEYS = "t type it  b blank  s skip  u undo  p picture  q stop"
UNLISTED = (
    "the drafted map does not list it yet: add it there, or photograph the page for "
    "`asfound draft --onto`"
)
WHY = {State.DOUBT: "in doubt", State.UNREAD: "not read", State.SURE: "no value"}


class Keeper(Protocol):
    """Where answers go; each call returns when the answer is durable."""

    def keep(self, field: str, value: str) -> None:
        """Keep a person's value. Raises AsfoundError."""
        ...

    def take_back(self, field: str) -> None:
        """The value does not stand any more. Raises AsfoundError."""
        ...


@dataclass
class Table:
    """What a session works with. ``folder`` takes pictures that the terminal cannot show; they
    are of use only while it runs."""

    keeper: Keeper
    keyboard: Keyboard
    views: FieldPictures
    pictures: Pictures
    folder: Path
    way: Way


def terminal_way() -> Way:
    """What this terminal can show."""
    out = sys.stdout
    encoding = getattr(out, "encoding", None) or "ascii"
    return way_of(os.environ, out is not None and out.isatty(), encoding)


def settle_doubts(session: Settling, table: Table) -> Settling:
    """Ask every question; returns the session as it stands when the person stops.

    Raises what the keeper raises; KeyboardInterrupt. Answers given before are kept.
    """
    with table.keyboard.listening():
        stopped, fresh = False, True
        while not stopped:
            if fresh:
                _ask(session, table)
            press = key_press(session, table.keyboard.key())
            before = session
            session, stopped = _done(session, press, table)
            fresh = session is not before or press.act in ("type", "picture")
            if press.hint:
                output.say(f"  {press.hint}")
    return session


def _done(session: Settling, press: KeyPress, table: Table) -> tuple[Settling, bool]:
    """The session after the key, and whether the person stops."""
    asked = session.current
    match press.act:
        case "stop":
            return session, True
        case "undo":
            return _undo(session, table), False
        case "skip":
            output.say("  skipped")
            return skipped(session), False
        case "answer" if asked is not None:
            return _take(session, press.value, table), False
        case "type" if asked is not None:
            value = _typed(asked.kind, asked.drafted, table)
            return (session if value is None else _take(session, value, table)), False
        case "picture" if asked is not None:
            output.say(f"  {_filed(asked, table)}")
    return session, False


def _take(session: Settling, value: str, table: Table) -> Settling:
    asked = session.current
    after = answered(session, value)
    if asked is not None:
        table.keeper.keep(asked.id, value)
        output.say(f"  {asked.label}: {written(asked.kind, value)}", style="green")
        if unlisted(asked.kind, asked.drafted, value):
            output.say(f"  {UNLISTED}", style="yellow")
    return after


def _undo(session: Settling, table: Table) -> Settling:
    last = session.past[-1]
    field = session.questions[last.at]
    if last.value is not None:
        table.keeper.take_back(field.id)
    output.say(f"  {field.label} is asked again")
    return undone(session)


def _typed(kind: FieldType, drafted: tuple[str, ...], table: Table) -> str | None:
    """What the person types, until it is a value of the field; None for an empty line."""
    what = "set or blank; never the password itself" if isinstance(kind, Secret) else "value"
    while True:
        table.keyboard.forget()
        with table.keyboard.typing():
            output.raw(output.seen(f"  {what} (empty: back): "))
            text = table.keyboard.line()
        if text is None or not text.strip():
            return None
        value, why = typed_value(kind, text, drafted)
        if value is not None:
            return value
        # What was typed for a secret may be the secret: it is not repeated.
        output.say(f"  {'only set or blank is kept' if isinstance(kind, Secret) else why}")


def _ask(session: Settling, table: Table) -> None:
    asked = session.current
    if asked is None:
        left = len(session.left())
        said = "all are answered" if not left else f"{left} skipped"
        table.keyboard.forget()
        output.say()
        output.say(f"{said}; u undo, any other key: done", style="bold")
        return
    # Everything slow comes first: keys pressed until then are no answer to this question.
    picture = _picture_lines(asked, table)
    table.keyboard.forget()
    output.say()
    place = f"page {asked.number} of {asked.pages}, {asked.page}"
    output.say(f"{session.at + 1} of {len(session.questions)}  {place}")
    output.say(f"{asked.label}  [{asked.id}]", style="bold")
    output.say(f"{WHY[asked.state]}: {asked.reason or 'no reason given'}", style="yellow")
    for line in picture:
        output.raw(line + "\n")
    for number, offer in enumerate(asked.offers, 1):
        also = "" if offer.read else "   (not what was read; allowed)"
        if offer.unlisted:
            also = "   (not in the drafted map yet)"
        output.say(f"  {number}  {offer.text}{also}")
    enter = "  (each with Enter)" if table.keyboard.needs_enter else ""
    output.say(f"  {KEYS}{enter}", style="dim")


def _picture_lines(asked: Question, table: Table) -> list[str]:
    if asked.secret:
        return ["  (the picture of a password or code is not shown)"]
    if table.way is Way.FILE:
        return [output.seen(f"  {_filed(asked, table)}")]
    if asked.box is None:
        return ["  (its place on the photograph is not known; p writes the photograph to a file)"]
    crop = table.views.crop(asked.photo, asked.box)
    if crop is None:
        return ["  (the photograph is not there any more)"]
    columns = shutil.get_terminal_size().columns - 3
    lines = ["  " + line for line in drawn(crop, columns, table.way)]
    return lines or [output.seen(f"  {_filed(asked, table)}")]


def _filed(asked: Question, table: Table) -> str:
    """Write the field's picture to a file and say where it is."""
    if asked.secret:
        return "the picture of a password or code is not shown"
    seen = _surroundings(asked, table)
    if seen is None:
        return "there is no picture of it"
    path = table.folder / f"{asked.id}.jpg"
    path.write_bytes(table.pictures.encode_jpeg(seen, 92))
    return f"picture: {path} (while this runs)"


def _surroundings(asked: Question, table: Table) -> Pixels | None:
    if asked.box is None:
        return table.views.whole(asked.photo)
    return table.views.crop(asked.photo, asked.box, 1.2)


def written(kind: FieldType, value: str) -> str:
    """A canonical value as a person reads it back."""
    return value if isinstance(kind, Secret) else shown(kind, value) or "(blank)"
