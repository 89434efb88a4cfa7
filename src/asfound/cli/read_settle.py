"""`asfound read --settle FILE`: the reading as JSON, with what a person settled and who it was.

The file is written anew after each answer, whole or not at all. Run again over the same
photographs, answers of the file before are taken over where the field reads as it did then.
"""

from __future__ import annotations

import copy
import json
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any

import typer

from asfound.calc.open_values import value_problem
from asfound.calc.settling import Settling, questions
from asfound.cli import output, wiring
from asfound.cli.keys import Keyboard
from asfound.cli.report import write_whole
from asfound.cli.settle import Table, settle_doubts, terminal_way
from asfound.errors import InputError, UsageError
from asfound.jobs.field_picture import FieldPictures
from asfound.jobs.visit_journal import named
from asfound.model.menu_map import MenuMap
from asfound.model.reading import Reading
from asfound.ports.backends.disk import storage_error
from asfound.ports.blobs import Blobs
from asfound.ports.clock import Clock

SettleOption = Annotated[
    Path | None,
    typer.Option(
        "--settle",
        metavar="FILE",
        help="Settle doubts at the keyboard; the reading is written to FILE as JSON.",
    ),
]
SettlerOption = Annotated[
    str,
    typer.Option("--by", envvar="ASFOUND_BY", metavar="NAME", help="Who settles; with --settle."),
]

MAX_BYTES = 64 * 1024 * 1024

Data = dict[str, Any]


@dataclass
class FileKeeper:
    """Answers in a reading's JSON file. ``plain`` is the reading as it was read (docs/reading.md).

    ``settled``: field id -> {"value", "by", "at"}.
    """

    path: Path
    plain: Data
    by: str
    clock: Clock
    settled: dict[str, dict[str, str]] = field(default_factory=dict)

    def keep(self, field: str, value: str) -> None:
        """Raises StorageError."""
        at = self.clock.now().isoformat(timespec="seconds")
        self._write(self.settled | {field: {"value": value, "by": self.by, "at": at}})

    def take_back(self, field: str) -> None:
        """Raises StorageError."""
        self._write({name: one for name, one in self.settled.items() if name != field})

    def start(self) -> None:
        """Write the file as it stands before the first answer. Raises StorageError."""
        self._write(self.settled)

    def _write(self, settled: dict[str, dict[str, str]]) -> None:
        text = json.dumps(with_settled(self.plain, settled), indent=2, ensure_ascii=True)
        try:
            write_whole(self.path, (text + "\n").encode("ascii"))
        except OSError as error:
            raise storage_error(error, self.path) from None
        self.settled = settled


def with_settled(plain: Data, settled: Mapping[str, Mapping[str, str]]) -> Data:
    """The reading with settled values in: "state" becomes "sure", and "settled" says who, when,
    and what was read before."""
    data = copy.deepcopy(plain)
    for one in data["fields"]:
        if (answer := settled.get(one["id"])) is not None:
            was = {"value": one["value"], "state": one["state"]}
            one["settled"] = {"by": answer["by"], "at": answer["at"], "was": was}
            one["value"], one["state"] = answer["value"], "sure"
    return data


def check_settle(path: Path, by: str, as_json: bool) -> str:
    """The settler's name. Raises UsageError before anything is read."""
    if as_json:
        raise UsageError(f"the JSON goes to {path} with --settle; leave --json out")
    return named(by)


def settle_reading(
    reading: Reading, plain: Data, menu_map: MenuMap, *, path: Path, by: str, blobs: Blobs
) -> int:
    """Ask about every doubt of ``reading``; ``plain`` is its JSON. Returns how many are left.

    Raises UsageError, InputError (``path`` is another file), StorageError.
    """
    keeper = FileKeeper(path, plain, by, wiring.clock(), earlier(path, plain, menu_map))
    if keeper.settled:
        output.say(f"{output.count(len(keeper.settled), 'answer')} of {path} still stand")
    keeper.start()
    session = Settling(questions(reading, keeper.settled, menu_map))
    if session.questions:
        pictures = wiring.pictures()
        views = FieldPictures(reading, pictures=pictures, blobs=blobs)
        with tempfile.TemporaryDirectory(prefix="asfound-") as folder:
            table = Table(keeper, Keyboard(), views, pictures, Path(folder), terminal_way())
            session = settle_doubts(session, table)
    left = len(reading.doubts()) - len(keeper.settled)
    settled = output.count(len(session.values()), "value")
    output.say(f"{settled} settled by {by}, {left} not known; {path} holds the reading")
    return left


def earlier(path: Path, plain: Data, menu_map: MenuMap) -> dict[str, dict[str, str]]:
    """What was settled in ``path`` before and still stands: the field reads as it did then.

    Raises InputError when the file is there and holds something else.
    """
    if not path.exists() and not path.is_symlink():
        return {}
    wrong = InputError(f"{path}: is no reading of {menu_map.id} and is left alone; name another")
    try:
        if not path.is_file() or path.stat().st_size > MAX_BYTES:
            raise wrong
        before = json.loads(path.read_text("utf-8"))
    except OSError as error:
        raise storage_error(error, path) from None
    except (ValueError, RecursionError):
        raise wrong from None
    if (
        not isinstance(before, dict)
        or before.get("format") != plain["format"]
        or before.get("map") != plain["map"]
        or not isinstance(before.get("fields"), list)
    ):
        raise wrong
    now = {one["id"]: one for one in plain["fields"]}
    kept = {}
    for one in before["fields"]:
        answer = _still(one, now, menu_map)
        if answer is not None:
            kept[one["id"]] = answer
    return kept


def _still(one: object, now: Mapping[str, Data], menu_map: MenuMap) -> dict[str, str] | None:
    """The field's answer, when it has one and was read then as it is now."""
    if not isinstance(one, dict) or not isinstance(mark := one.get("settled"), dict):
        return None
    present, was = now.get(str(one.get("id"))), mark.get("was")
    if present is None or not isinstance(was, dict):
        return None
    read = {name: value for name, value in one.items() if name != "settled"} | was
    answer = {"value": one.get("value"), "by": mark.get("by"), "at": mark.get("at")}
    if read != present or not all(isinstance(text, str) for text in answer.values()):
        return None
    made = {name: str(text) for name, text in answer.items()}
    field = menu_map.field(str(one["id"]))
    wrong = value_problem(field.type, field.drafted, made["value"])
    return made if wrong is None else None
