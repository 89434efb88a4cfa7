"""`asfound power`: what is said, JSON, plots, cautions, exit codes, hostile input."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from asfound.cli import power
from asfound.errors import AsfoundError, UsageError

LORRY = (
    "parked", "--system", "24V", "--battery", "170Ah", "--health", "100%", "--parked", "62h",
    "--charge", "90%", "--run-on", "4h", "--run-on-draws", "24W", "--sleep-draws", "20mA",
    "--vehicle-draws", "80mA",
)  # fmt: skip
CRANK = ("crank", "--system", "24V", "--code", "H")
VOLTS = ("volts", "--system", "24V")


def run(*arguments: str) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    power.register(app)
    result = CliRunner().invoke(app, ["power", *arguments])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result.exit_code, result.stdout


def test_parked(tmp_path: Path) -> None:
    drawn = tmp_path / "charge.svg"
    code, said = run(*LORRY, "--plot", str(drawn))
    assert code == 0 and "more than the 50 mA" in said
    assert "safe cut-off: " in said and drawn.read_text().startswith("<svg")
    assert said.count("caution:") == 4 and "orange" in said
    data = json.loads(run(*LORRY, "--json")[1])
    assert data["format"] == "asfound-parked/1" and data["findings"] == []
    # 4 h at 1.08 A and 58 h at 0.1 A are 10.12 Ah of 170; 3 % a month of it 0.44 Ah besides.
    assert data["charge_at_end"][1] == pytest.approx(0.9 - (10.12 + 0.44) / 170, abs=2e-4)
    code, said = run(*LORRY, "--run-on", "90h", "--cut-off", "23V")
    assert code == 1 and "too-little-left-to-start" in said and "cut-off-too-low" in said
    assert "run-on-too-long: run-on of 90 h is too long" in said


def test_parked_from_a_rest_voltage_in_frost() -> None:
    tail = ("--rest-volts", "24,9 V", "--rested", "1h", "--celsius", "-20", "--charge", "")
    code, said = run(*LORRY, *tail)
    assert code == 1 and "the least charge" in said and "leaves no run-on" in said
    data = json.loads(run(*LORRY, *tail, "--json")[1])
    assert data["charge"][0] < data["charge"][1] < data["charge"][2]
    none = ("--run-on-draws", "0", "--vehicle-draws", "0", "--sleep-draws", "0", "--run-on", "0")
    assert json.loads(run(*LORRY, *none, "--json")[1])["hours_until_no_start"][0] > 1000
    assert "°C; 0 mA, vehicle" in run(*LORRY, *none)[1]


def test_crank(tmp_path: Path) -> None:
    drawn = tmp_path / "start.png"
    code, said = run(*CRANK, "--hold-up", "200ms", "--boot", "45s", "--plot", str(drawn))
    assert code == 1 and "holds up" in said and "drops out" in said and "54.9 s" in said
    assert "has to come back unharmed" in said and "ask its maker for the test" in said
    assert drawn.read_bytes().startswith(b"\x89PNG")
    data = json.loads(run(*CRANK, "--start", "i", "--json")[1])
    assert data["format"] == "asfound-crank/1" and data["starts"][0]["verdict"] == "could-not-tell"
    assert data["starts"][0]["below_s"] == pytest.approx(0.0957, abs=1e-4)
    leads = ("--draws", "25W", "--length", "8m", "--section", "AWG16", "--lowest", "19V")
    code, said = run(*CRANK, *leads)
    assert code == 0 and "rides through" in said
    code, said = run("crank", "--system", "12", "--least", "9", "--most", "36", "--supply", "12.6")
    assert code == 1 and "could-not-tell" in said


def test_volts() -> None:
    code, said = run(*VOLTS, "battery-on=25.2", "plug-on=0V", "fuse-in-on=25,1", "fuse-out-on=0")
    assert code == 1 and "likely: Fuse blown or missing" in said
    assert "no source" in said and "fuse-out-on 0 V" in said
    assert "could not tell:" in said and "Measure next" in said and said.count("caution:") == 5
    code, said = run(*VOLTS, "battery-off=25.4")
    assert code == 0 and "nothing that was measured speaks for a cause" in said
    code, said = run("volts", "--places")
    assert code == 0 and "earth-on" in said and "recorder-least" not in said
    extra = ("--code", "D", "--draws", "25W", "--length", "8m", "--section", "1.5mm2")
    data = json.loads(run(*VOLTS, "plug-running=27.9", *extra, "--json")[1])
    assert data["format"] == "asfound-volts/1" and data["readings"]["recorder-most"] == 16
    assert data["causes"][0]["id"] == "wrong-range"
    # One lead of 8 m, 1.5 mm2 at 60 degrees Celsius, 25 W at 24 V: 0.123 ohm * 1.05 A.
    assert data["readings"]["lead-drop"] == pytest.approx(0.13, abs=0.01)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((*LORRY, "--system", "48V"), "12 V or 24 V"),
        ((*LORRY, "--battery", "many"), "battery: 'many' is no figure"),
        ((*LORRY, "--kind", "paper"), "kind: there is no 'paper'"),
        ((*LORRY, "--rest-volts", "25V"), "one of them"),
        ((*LORRY, "--charge", "", "--rest-volts", "12.5V"), "two in series twice that"),
        ((*LORRY, "--charge", "130%"), "charge: '130%' is outside of"),
        ((*LORRY, "--length", "8m"), "go together"),
        ((*LORRY, "--run-on-draws", "-3A"), "run_on_draws: '-3A' is outside of"),
        ((*LORRY, "--plot", "x.gif"), "has to end in"),
        ((*CRANK, "--code", "Q"), "there are A, B"),
        ((*CRANK, "--least", "9V"), "not both"),
        (("crank", "--system", "24V"), "say what the recorder takes"),
        (("crank", "--system", "24V", "--least", "9"), "go together"),
        (("crank", "--system", "24V", "--least", "9", "--most", "8"), "more than the least"),
        ((*CRANK, "--start", "V"), "none of 24 V"),
        ((*CRANK, "--length", "8m", "--section", "1mm2"), "draws is missing"),
        ((*CRANK, "--lasting", "1s"), "lasting goes with"),
        ((*CRANK, "--lowest", "17", "--lowest-at-plug", "16"), "not both"),
        ((*VOLTS, "plug=3"), "there is no reading plug"),
        ((*VOLTS, "plug-on"), "write a reading"),
        ((*VOLTS, "meter=3"), "write a reading"),
        ((*VOLTS, "plug-on=3", "PLUG-ON=4"), "stands there twice"),
        ((*VOLTS, "plug-on=high"), "plug-on: 'high' is no figure"),
        (VOLTS, "at least one measured voltage"),
        ((*VOLTS, "plug-on=3", "--length", "8m", "--section", "1mm2"), "draws is missing"),
        ((*VOLTS, "plug-on=3", "--length", "90m", "--section", "0.5mm2", "--draws", "900W"),
         "cannot carry that load"),
        (("volts", "plug-on=3"), "system is missing"),
    ],
)  # fmt: skip
def test_what_cannot_be(arguments: tuple[str, ...], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        run(*arguments)


@given(st.text(max_size=12), st.text(max_size=12), st.sampled_from((LORRY, CRANK, VOLTS)))
def test_hostile_words_end_in_one_line(one: str, other: str, tool: tuple[str, ...]) -> None:
    tail = {
        "parked": ("--battery", f"x{one}", "--celsius", f"y{other}"),
        "crank": ("--hold-up", f"x{one}", "--supply", f"y{other}"),
        "volts": (f"plug-on={one}x", f"{other}=3"),
    }[tool[0]]
    try:
        run(*tool, *tail)
    except AsfoundError as error:
        assert str(error)
