"""`asfound rollout`: what is said, JSON, exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.worked_visit import fleet_home, up_to_keys

from asfound.cli.home import home_at
from asfound.cli.main import call

FILE = """\
format = "asfound-rollout/1"
id = "marrowby-2.03"
map = "marrowby-four"
hardware = ["B"]
target = "2.03"
started_on = 2020-01-02
hold_days = 0
waves = [2]
approved_by = "Ada Penrose"
approved_on = 2020-01-01
[pilot]
vehicles = ["217"]
[limits]
acceptable = 0.02
unacceptable = 0.2
"""

Out = pytest.CaptureFixture[str]


@pytest.fixture
def file(tmp_path: Path) -> str:
    path = tmp_path / "rollout.toml"
    path.write_text(FILE)
    return str(path)


def test_status_before_and_in_the_pilot(tmp_path: Path, file: str, capsys: Out) -> None:
    home = fleet_home(tmp_path)
    asked = ["rollout", "status", file, "--home", str(home.path)]
    # The version is for hardware B, and nobody says what the vehicles have: no guess.
    assert call(asked) == 11
    assert "the hardware of pilot vehicle '217' is not known" in capsys.readouterr().err
    fleet = home.path / "fleet.toml"
    fleet.write_text(
        fleet.read_text().replace("supply_volts = 24 }", 'supply_volts = 24, hardware = "B" }')
    )
    home = home_at(home.path)
    assert call(asked) == 0
    said = capsys.readouterr().out
    assert "go-on: still to do of this wave: 1" in said and "next: 217" in said
    # ln(0.10 / 0.95) / ln(0.80 / 0.98) = 11.1: twelve; the fleet has two of this model.
    assert "after 12 vehicles; the fleet has 2: it never will" in said
    assert "only for hardware B" in said
    # Asking makes no database.
    assert not (home.path / "asfound.db").exists()

    visit = up_to_keys(home)
    path = Path(file)
    path.write_text(FILE.replace("2.03", home.visit(visit).firmware_left))
    assert call([*asked, "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["format"] == "asfound-rollout/1" and data["decision"] == "hold"
    [bus] = [one for one in data["vehicles"] if one["number"] == "217"]
    assert bus["outcome"] == "waiting" and bus["by"] == visit and bus["until"] is None
    assert data["next"] == [] and data["rule"]["judged"] == 0


def test_vehicles_whose_hardware_nobody_knows_are_named(
    tmp_path: Path, file: str, capsys: Out
) -> None:
    home = fleet_home(tmp_path)
    fleet = home.path / "fleet.toml"
    known = 'supply_volts = 24, hardware = "B" }'
    fleet.write_text(fleet.read_text().replace("supply_volts = 24 }", known, 1))
    asked = ["rollout", "status", file, "--home", str(home.path)]
    assert call(asked) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "in no wave, hardware not known: 41; read it off the recorder's label" in said
    assert call([*asked, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["unsure"] == ["41"] and [one["number"] for one in data["vehicles"]] == ["217"]


def test_changes(tmp_path: Path, capsys: Out) -> None:
    home = fleet_home(tmp_path)
    asked = ["rollout", "changes", "--map", "marrowby-four", "--from", "1.12", "--to", "2.03"]
    at = ["--home", str(home.path)]
    assert call([*asked, *at]) == 1
    said = capsys.readouterr().out
    assert "renamed" in said and "about.owner" in said and "class town bus" in said
    assert call([*asked, *at, "--vehicle", "217", "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["from"] == "1.12" and {one["who"] for one in data["agreed"]} == {"vehicle 217"}
    assert {"change", "id", "label", "before", "after"} == set(data["changes"][0])
    same = [*asked[:-1], "1.12"]
    assert call([*same, *at]) == 0
    assert "no setting changes" in capsys.readouterr().out
    (tmp_path / "none").mkdir()
    assert call([*asked, "--home", str(tmp_path / "none")]) == 1
    assert "agreed values were not looked at" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("more", "code", "says"),
    [
        (["--vehicle", "305"], 2, "305 has a quillfen-octad"),
        (["--vehicle", "999"], 8, "no vehicle '999'"),
        (["--to", "9.9"], 8, "does not describe firmware '9.9'"),
    ],
)
def test_wrong_calls(tmp_path: Path, capsys: Out, more: list[str], code: int, says: str) -> None:
    home = fleet_home(tmp_path)
    asked = ["rollout", "changes", "--map", "marrowby-four", "--from", "1.12", "--to", "2.03"]
    assert call([*asked, "--home", str(home.path), *more]) == code
    said = capsys.readouterr().err
    assert says in said and said.count("\n") == 1


def test_a_faulty_file(tmp_path: Path, file: str, capsys: Out) -> None:
    Path(file).write_text(FILE.replace("hold_days = 0", "hold_days = -1"))
    assert call(["rollout", "status", file, "--home", str(fleet_home(tmp_path).path)]) == 11
    assert f"{file}:7: hold_days: " in capsys.readouterr().err
