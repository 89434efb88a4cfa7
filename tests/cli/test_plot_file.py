"""`--plot FILE`: by its ending, whole or not at all, and never over another kind of file."""

from __future__ import annotations

from pathlib import Path

import pytest

from asfound.cli.plot_file import plot_form, write_plot
from asfound.errors import NotFound, UsageError
from asfound.model.plot import Axis, Line, Plot
from asfound.ports.plots import PlotForm

PLOT = Plot("t", Axis("x"), Axis("y"), (Line("a", (0.0, 1.0), (0.0, 1.0)),))


def test_by_its_ending(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for form, begins in (("svg", b"<svg"), ("PNG", b"\x89PNG"), ("pdf", b"%PDF-")):
        path = tmp_path / f"plot.{form}"
        write_plot(PLOT, path)
        write_plot(PLOT, path)
        assert path.read_bytes().startswith(begins)
    assert "drawn into" in capsys.readouterr().err
    assert plot_form(None) is None and plot_form(tmp_path / "plot.svg") == PlotForm.SVG
    write_plot(PLOT, None)


def test_what_is_left_alone(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="has to end in"):
        plot_form(tmp_path / "plot.jpg")
    with pytest.raises(NotFound, match="no such folder"):
        plot_form(tmp_path / "none" / "plot.svg")
    mine = tmp_path / "mine.svg"
    mine.write_text("dear diary")
    with pytest.raises(UsageError, match="left alone"):
        write_plot(PLOT, mine)
    assert mine.read_text() == "dear diary"
