"""`asfound leads`: what is said, JSON, units, cautions, exit codes."""

from __future__ import annotations

import json

import pytest
import typer
from typer.testing import CliRunner

from asfound.cli import leads
from asfound.errors import AsfoundError, UsageError

BUS = ("--supply", "24V", "--load", "60W", "--length", "12m", "--section", "1.5mm2")


def run(*arguments: str) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    leads.register(app)
    result = CliRunner().invoke(app, ["leads", *arguments])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout


def test_what_is_lost_and_what_would_do() -> None:
    code, said = run(*BUS)
    assert code == 1 and "60 °C" in said
    assert "at most 3% lost: 2.5 mm²" in said and "at most 10% lost: 0.75 mm²" in said
    assert "fuse at the supply: 5 A at least" in said
    assert said.count("caution:") == 3 and "orange" in said


def test_json_and_a_gauge() -> None:
    code, said = run(*BUS[:6], "--section", "AWG10", "--celsius", "20", "--json")
    data = json.loads(said)
    # ASTM B258: 10 AWG is 5.261 mm2.
    assert code == 0 and data["section_mm2"] == pytest.approx(5.261, abs=5e-4)
    assert data["volts"] * data["amperes"] == pytest.approx(60)
    four = json.loads(run(*BUS[:6], "--section", "awg 4/0", "--json")[1])
    assert four["section_mm2"] == pytest.approx(107.2, abs=0.05)  # 0.46 inch across
    assert json.loads(run(*BUS, "--load", "900W", "--json")[1])["volts"] is None


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        (("--supply", "24"), "with one of V"),
        (("--load", "60"), "with one of W"),
        (("--length", "0m"), "more than 0"),
        (("--section", "AWG41"), "gauges go to 40"),
        (("--section", "1.5"), "with one of mm2"),
        (("--celsius", "200"), "-60 to 150"),
        (("--least", "nine"), "least: "),
    ],
)
def test_what_cannot_be(changed: tuple[str, str], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        run(*BUS, *changed)
