"""The register of drives, used as a user uses it: from the vehicle to the shredder."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw
from tests.smart_reports import ssd
from tests.worked_visit import fleet_home

from asfound.calc.drive_names import label_text
from asfound.cli.home import Home
from asfound.cli.main import call
from asfound.errors import ExitCode
from asfound.jobs.drive_acts import RegisterDrive, register_drive
from asfound.jobs.visit_act import OverrideGate, override

Told = tuple[int, str, str]


class Run:
    """Calls commands in one home as Ada."""

    def __init__(self, capsys: pytest.CaptureFixture[str], home: Home) -> None:
        self._capsys, self.home = capsys, home

    def __call__(self, *words: str) -> Told:
        code = call([*words, "--home", str(self.home.path)])
        told = self._capsys.readouterr()
        return code, told.out, told.err

    def data(self, *words: str) -> dict[str, Any]:
        made: dict[str, Any] = json.loads(self(*words, "--json")[1])
        assert made["format"] == "asfound-drives/1"
        return made


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("ASFOUND_BY", "Ada")
    return Run(capsys, fleet_home(tmp_path))


def both(run: Run) -> None:
    """Every drive of the fleet file, registered in its vehicle."""
    for vehicle in run.home.fleet().vehicles:
        if vehicle.drive is not None:
            asked = RegisterDrive(vehicle.drive.serial, "ssd", 10**12, "Ada", vehicle=vehicle)
            register_drive(asked, desk=run.home.drive_desk())


def test_registered_is_not_found_any_more(run: Run) -> None:
    assert run("drive", "findings")[0] == ExitCode.FINDINGS
    for serial, vehicle in (("TL-88301-C", "217"), ("TL-90155-A", "305")):
        done = run(
            "drive", "register", serial, "--kind", "ssd", "--size", "480GB", "--vehicle", vehicle
        )
        assert done[0] == ExitCode.OK, done
    assert run("drive", "findings")[:2] == (
        ExitCode.OK,
        "nothing found: every drive is where the register says, as far as it was told\n",
    )


def test_from_the_vehicle_to_the_shredder(run: Run, tmp_path: Path) -> None:
    both(run)
    code, out, _ = run(
        "drive", "pulled", "tl-88301-c", "--vehicle", "QB 04 XKM", "--reason", "full"
    )
    assert code == ExitCode.FINDINGS and "elsewhere" in out and "with Ada" in out
    fleet = run.home.path / "fleet.toml"
    text = fleet.read_text(encoding="utf-8").replace('serial = "TL-88301-C"', 'serial = "TL-9"')
    fleet.write_text(text, encoding="utf-8")
    run.home = Home(run.home.path)
    picture = Image.new("RGB", (400, 120), "white")
    ImageDraw.Draw(picture).line([(40, 60), (360, 40)], fill="black", width=6)
    picture.save(tmp_path / "ines.png")
    hand = ("drive", "hand", "TL-88301-C", "--to", "Ines", "--reason", "to be copied")
    code, out, err = run(*hand, "--signed", str(tmp_path / "ines.png"), "--where", "claims desk")
    assert code == ExitCode.OK and "with Ines (claims desk)" in out, (out, err)
    code, out, _ = run(*hand[:-1], "again", "--by", "Bo")
    assert code == ExitCode.FINDINGS and "gap" in out and "did not have it" in out
    code, out, _ = run("drive", "found", "TL-88301-C", "--where", "shelf 2", "--reason", "counted")
    assert code == ExitCode.OK and "with Ada (shelf 2)" in out
    placed = run("hold", "place", "217", "--from", "2026-01-02T08:00", "--to", "2026-01-02T09:00",
                 "--reason", "claim")  # fmt: skip
    assert placed[0] == ExitCode.OK
    hold = placed[1].split(":")[0]
    wipe = ("drive", "wiped", "TL-88301-C", "--category", "purge", "--method", "block erase",
            "--tool", "a tool 2.8", "--reason", "worn", "--verified-by", "Bo")  # fmt: skip
    retire = ("drive", "retire", "TL-88301-C", "--how", "scrapped", "--reason", "worn")
    for locked in (wipe, retire):
        code, _, err = run(*locked)
        assert code == ExitCode.GATE_SHUT and hold in err and err.count("\n") == 1
    code, out, _ = run("drive", "show", "TL-88301-C")
    assert f"must not be wiped or retired: {hold}" in out
    run("hold", "release", hold, "--reason", "copied")
    assert run(*wipe)[0] == ExitCode.OK and run(*retire)[0] == ExitCode.OK
    made = run.data("drive", "show", "TL-88301-C")
    [drive] = made["drives"]
    assert made["findings"] == [] and drive["place"] == "gone" and drive["retired"] == "scrapped"
    assert [one["kind"] for one in drive["events"]] == [
        "registered", "pulled", "handed", "handed", "found", "wiped", "retired",
    ]  # fmt: skip
    [wiped] = drive["wipes"]
    assert wiped["proves"] is True and wiped["category"] == "purge"


def test_a_request_names_the_drive_and_where_it_is(run: Run) -> None:
    both(run)
    run("drive", "pulled", "TL-88301-C", "--vehicle", "217", "--reason", "a claim")
    code, out, _ = run(
        "request", "add", "--vehicle", "217", "--from", "2026-01-02T08:00", "--until",
        "2026-01-02T09:00", "--why", "claim", "--authority", "insurer",
    )  # fmt: skip
    assert code == ExitCode.FINDINGS and "drive TL-88301-C, with Ada" in out
    name = out.split(":")[0]
    _, out, _ = run("request", "show", name, "--json")
    asked = json.loads(out)["requests"][0]
    assert asked["drive"] == "TL-88301-C" and asked["drive_place"] == "with Ada"
    assert asked["drive_fitted"] is False
    code, _, err = run("drive", "retire", "TL-88301-C", "--how", "sold", "--reason", "worn")
    assert code == ExitCode.GATE_SHUT and f"request answer {name}" in err


def test_a_visit_says_which_drives(run: Run) -> None:
    both(run)
    _, out, _ = run("visit", "open", "217", "--procedure", "drive-swap")
    visit = out.split()[1]
    for gate in ("steps-done", "pages-read", "doubts-settled"):
        override(OverrideGate(visit, "drive", gate, "Ada", "a test"), desk=run.home.desk())
    done = ("visit", "done", visit, "drive", "--drive-out", "TL-88301-C", "--drive-in", "TL-5")
    assert run("visit", "done", visit, "locate", "--drive-in", "TL-5")[0] == ExitCode.USAGE
    assert run(*done[:-1], "a/b")[0] == ExitCode.USAGE
    assert run(*done)[0] == ExitCode.OK
    assert "drive TL-88301-C came out, drive TL-5 went in" in run("visit", "show", visit)[1]
    code, out, _ = run("drive", "list", "--vehicle", "217")
    assert code == ExitCode.OK and "with Ada" in out and "fitted in 217" in out
    found = run.data("drive", "findings")["findings"]
    assert {(one["kind"], one["serial"]) for one in found} == {
        ("unregistered", "tl-5"), ("elsewhere", "tl-88301-c"),
    }  # fmt: skip


def test_labels_are_written_and_scanned(run: Run, tmp_path: Path) -> None:
    both(run)
    for name, begins in (("a.svg", b"<svg"), ("a.pdf", b"%PDF-")):
        code, out, _ = run("drive", "label", "TL-88301-C", "-o", str(tmp_path / name))
        assert code == ExitCode.OK and "D-W1PD3YTT" in out
        assert (tmp_path / name).read_bytes().startswith(begins)
    code, _, err = run("drive", "label", "TL-88301-C", "-o", str(tmp_path / "fleet.toml"))
    assert code == ExitCode.USAGE and ".svg or .pdf" in err
    (tmp_path / "b.svg").write_text("a letter", encoding="utf-8")
    assert run("drive", "label", "TL-88301-C", "-o", str(tmp_path / "b.svg"))[0] == ExitCode.USAGE
    scanned = label_text("tl-88301-c", "TL-88301-C", run.home.fleet().name)
    assert run("drive", "show", scanned)[0] == ExitCode.OK


def test_what_a_drive_reports_is_kept_with_it(run: Run, tmp_path: Path) -> None:
    report = ssd(serial_number="TL-88301-C", smart_status={"passed": False})
    path = tmp_path / "smart.json"
    path.write_text(json.dumps(report), encoding="utf-8")
    assert "failing" in run("drive", "register", "TL-88301-C", "--report", str(path))[1]
    made = run.data("drive", "show", "TL-88301-C")["drives"][0]
    assert (made["kind"], made["capacity_bytes"], made["model"]) == (
        "ssd", 4_000_787_030_016, "TARN-4000V",
    )  # fmt: skip
    assert made["health"]["verdict"] == "failing"
    run("drive", "register", "TL-1", "--kind", "card", "--size", "64000000000", "--new")
    code, _, err = run("drive", "judged", "TL-1", str(path))
    assert code == ExitCode.USAGE and "the report is of drive TL-88301-C" in err
    assert run("drive", "judged", "TL-88301-C", str(path))[0] == ExitCode.FINDINGS


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("show", "TL-0"), ExitCode.NOT_FOUND, "no drive 'TL-0'"),
        (("register", "TL-0"), ExitCode.USAGE, "--kind KIND --size"),
        (("register", "TL-0", "--kind", "ssd", "--size", "big"), ExitCode.USAGE, "--size"),
        (("register", "TL-0", "--report", "none.json"), ExitCode.NOT_FOUND, "none.json"),
        (("fitted", "TL-0", "--vehicle", "999", "--reason", "r"), ExitCode.NOT_FOUND, "999"),
        (("wiped", "TL-0", "--category", "clear", "--method", "m", "--tool", "t", "--reason", "r"),
         ExitCode.NOT_FOUND, "TL-0"),
        (("hand", "TL-0", "--to", "B", "--reason", "r", "--signed", "no.png"),
         ExitCode.NOT_FOUND, "no.png"),
    ],
)  # fmt: skip
def test_errors_are_one_line(run: Run, words: tuple[str, ...], code: ExitCode, says: str) -> None:
    got, _, err = run("drive", *words)
    assert got == code and says in err and err.count("\n") == 1
