"""`--plot FILE`: a plot beside the table, as SVG, PNG or PDF."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.report import write_whole
from asfound.cli.save import check_output
from asfound.errors import UsageError
from asfound.model.plot import Plot
from asfound.ports.backends.disk import storage_error
from asfound.ports.plots import PlotForm

BEGINS = {PlotForm.SVG: b"<svg", PlotForm.PNG: b"\x89PNG", PlotForm.PDF: b"%PDF-"}
"""How files of each form begin: nothing else is replaced."""

PlotFile = Annotated[
    Path | None,
    typer.Option("--plot", metavar="FILE", help="Draw a plot into FILE: .svg, .png or .pdf."),
]


def plot_form(path: Path | None) -> PlotForm | None:
    """How it is drawn, by the file's ending; an older plot is replaced, nothing else.

    Raises UsageError, NotFound. Ask before long work.
    """
    if path is None:
        return None
    try:
        form = PlotForm(path.suffix.removeprefix(".").casefold())
    except ValueError:
        raise UsageError(f"--plot {path}: the name has to end in .svg, .png or .pdf") from None
    check_output(path, BEGINS[form], "a plot")
    return form


def write_plot(plot: Plot, path: Path | None) -> None:
    """The plot in the file; nothing without one. Raises UsageError, StorageError, MissingPart."""
    form = plot_form(path)
    if path is None or form is None:
        return
    drawn = wiring.plotter().draw(plot, form)
    try:
        write_whole(path, drawn)
    except OSError as error:
        raise storage_error(error, path) from None
    output.warn(f"asfound: drawn into {path}")
