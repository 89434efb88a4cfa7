"""What the command line shows: results on stdout, progress and errors on stderr."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TextIO

from rich.cells import cell_len
from rich.console import Console, JustifyMethod
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as RichProgress
from rich.table import Table
from rich.text import Text

from asfound.calc.plain_text import plain
from asfound.errors import StorageError
from asfound.ports.progress import Progress

PLAIN_WIDTH = 140
"""Columns when stdout is a file or a pipe, so that tables do not depend on the terminal."""

GAP = 2
"""Blanks between the columns of a table."""

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
    """A table on stdout; ``right`` are the numbers of columns to align right.

    Where the terminal is too narrow for that without cutting words, each row is a small block,
    a line for each cell that is not empty.
    """
    out = console()
    heads = [Text(seen(name)) for name in columns]
    cells = [[_cell(cell) for cell in row] for row in rows]
    widths = column_widths([heads, *cells], out.width)
    drawn = _blocks(heads, cells) if widths is None else Table(box=None)
    drawn.pad_edge = False
    if widths is not None:
        for number, head in enumerate(heads):
            side: JustifyMethod = "right" if number in right else "left"
            drawn.add_column(
                head, justify=side, overflow="fold", style="", width=widths[number] or None
            )
        for row in cells:
            drawn.add_row(*row)
    if title:
        out.print(Text(seen(title), style="bold"))
    out.print(drawn)


def column_widths(rows: Sequence[Sequence[Text]], width: int) -> list[int] | None:
    """Columns of a table that fits into ``width``: as wide as their texts, else narrower but
    with all words whole; None when they do not fit. One column always does: it is folded."""
    whole = [max(cell.cell_len for cell in column) for column in zip(*rows, strict=True)]
    room = width - GAP * (len(whole) - 1)
    if len(whole) < 2 or sum(whole) <= room:
        return [0] * len(whole)
    words = [
        max((cell_len(word) for cell in column for word in cell.plain.split()), default=0)
        for column in zip(*rows, strict=True)
    ]
    if sum(words) > room:
        return None
    for _ in range(room - sum(words)):
        # The next column of letters goes to where most lines are needed.
        at = max(range(len(words)), key=lambda n: whole[n] / max(words[n], 1))
        words[at] += 1
    return words


def _blocks(heads: Sequence[Text], rows: Sequence[Sequence[Text]]) -> Table:
    drawn = Table(box=None, show_header=False)
    drawn.add_column(style="")
    drawn.add_column(overflow="fold", style="")
    for number, row in enumerate(rows):
        if number:
            drawn.add_row()
        said = [(head, cell) for head, cell in zip(heads, row, strict=True) if cell.plain]
        for line, (head, cell) in enumerate(said):
            drawn.add_row(Text("  " if line else "") + head, cell, style="" if line else "bold")
    return drawn


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
