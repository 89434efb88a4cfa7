"""What the command line shows: results on stdout, progress and errors on stderr."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TextIO

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as RichProgress
from rich.table import Table
from rich.text import Text

from asfound.calc.plain_text import plain
from asfound.errors import StorageError
from asfound.ports.progress import Progress

PLAIN_WIDTH = 140
"""Columns when stdout is a file or a pipe, so that tables do not depend on the terminal."""

SPELT = str.maketrans({"→": "->", "✓": "+", "·": "-", "×": "x", "–": "-", "⟨": "<", "⟩": ">"})
"""Signs of ours for a terminal whose encoding has no such letters."""


def seen(text: str) -> str:
    """``text`` as stdout can show it: nothing that a terminal obeys, nothing it cannot encode."""
    safe = plain(text, but="\n")
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    try:
        safe.encode(encoding)
    except UnicodeEncodeError:
        return safe.translate(SPELT).encode(encoding, "backslashreplace").decode(encoding)
    return safe


class _Out(Console):
    """A console that leaves a closed pipe to the caller: rich would end with code 1, a finding."""

    def on_broken_pipe(self) -> None:
        raise BrokenPipeError


def console() -> Console:
    """The console on today's stdout. Raises StorageError when there is none."""
    width = None if _stdout().isatty() else PLAIN_WIDTH
    return _Out(file=sys.stdout, width=width, highlight=False, soft_wrap=False)


def say(text: str = "", style: str = "") -> None:
    """One line on stdout; ``text`` is never markup."""
    console().print(Text(seen(text), style=style), soft_wrap=True)


def warn(text: str) -> None:
    """One line on stderr."""
    Console(file=sys.stderr, highlight=False).print(Text(plain(text, but="\n")), soft_wrap=True)


def table(
    columns: Sequence[str],
    rows: Iterable[Sequence[str | Text]],
    title: str = "",
    right: Sequence[int] = (),
) -> None:
    """A table on stdout; ``right`` are the numbers of columns to align right."""
    drawn = Table(title=Text(seen(title)) if title else None, title_justify="left", box=None)
    drawn.title_style = "bold"
    drawn.pad_edge = False
    for number, name in enumerate(columns):
        drawn.add_column(
            seen(name), justify="right" if number in right else "left", overflow="fold", style=""
        )
    for row in rows:
        drawn.add_row(*[_cell(cell) for cell in row])
    console().print(drawn)


def _cell(cell: str | Text) -> Text:
    if isinstance(cell, str):
        return Text(seen(cell))
    return Text(seen(cell.plain), style=cell.style)


def count(number: int, one: str, many: str = "") -> str:
    """``number`` with its noun: "1 page", "2 pages"."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def _stdout() -> TextIO:
    # Python sets it to None when the shell has closed it.
    out: TextIO | None = sys.stdout
    if out is None:
        raise StorageError("standard output is closed; open it, or send it to a file")
    return out


def raw(text: str) -> None:
    """``text`` on stdout as it stands. Raises BrokenPipeError when nobody reads any more."""
    out = _stdout()
    try:
        out.write(text)
        out.flush()
    except BrokenPipeError:
        # Without its number: typer would end with code 1, a finding, on one that has it.
        raise BrokenPipeError from None


def json_out(value: object) -> None:
    """``value`` as indented JSON on stdout; what cannot be shown as it is comes as \\uXXXX."""
    text = json.dumps(value, indent=2, ensure_ascii=False)
    if seen(text) != text:
        text = json.dumps(value, indent=2, ensure_ascii=True)
    raw(text + "\n")


@contextmanager
def progress_bar(title: str) -> Iterator[Progress]:
    """A progress bar on stderr; silent when stderr is not a terminal."""
    err = Console(file=sys.stderr)
    bar = RichProgress(
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn("{task.fields[what]}", markup=False),
        console=err,
        disable=not err.is_terminal,
    )
    with bar:
        task = bar.add_task(title, total=None, what="")

        def step(done: int, total: int, what: str) -> None:
            bar.update(task, completed=done, total=total, what=plain(what))

        yield step
