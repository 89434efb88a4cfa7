"""`asfound visit`, `hold` and `fleet`, called as a user calls them: output and exit codes."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from tests.visit_kit import MAP, VALUES, proof, reading

from asfound.cli.hold import parse_time
from asfound.cli.home import Home, home_at
from asfound.cli.main import call
from asfound.cli.visit_show import show_identity
from asfound.errors import ExitCode, UsageError
from asfound.jobs.visit_record import RecordProof, RecordReading, record_as_found, record_proof
from asfound.model.finding import ProofVerdict
from asfound.model.kinds import ReadOnly
from asfound.model.menu_map import Field, Page
from asfound.model.reading import FieldReading, Reading, State

TINBROOK = """
format = "asfound-map/1"
id = "tinbrook-two"
maker = "Tinbrook"
model = "Two"
cameras = 2
firmware = ["1.0", "2.0"]
[keys]
layout = "flat"
up = "Up"
down = "Down"
left = "Left"
right = "Right"
ok = "OK"
back = "Back"
minus = "Less"
plus = "More"
next_page = "Next"
previous_page = "Previous"
[keys.keyboard]
rows = [["A", "B", "DELETE", "DONE"]]
[[page]]
id = "general"
title = "General"
[[page.field]]
id = "general.name"
label = "Name"
type = "text"
max_length = 8
alphabet = "AB"
default = ""
means = "vehicle"
[[page.field]]
id = "general.code"
label = "Code"
type = "secret"
default = "blank"
[[page]]
id = "camera-{n}"
title = "Camera {n}"
for_each_camera = true
[[page.field]]
id = "camera-{n}.record"
label = "Record"
type = "switch"
default = "off"
means = "record"
[[page.field]]
id = "camera-{n}.size"
label = "Size"
type = "choice"
options = ["CIF", "HD"]
amounts = { "CIF" = "352x288", "HD" = "1280x720" }
default = "CIF"
means = "frame-size"
"""

FLEET = """
format = "asfound-fleet/1"
name = "Brindlemere Haulage & Coaches"
time_zone = "Europe/London"
[[standard]]
map = "tinbrook-two"
baseline = { "camera-2.record" = "on" }
[[vehicle]]
number = "217"
plate = "QB 04 XKM"
kind = "bus"
depot = "North"
class = "city"
cameras = [{ channel = 1, name = "Front" }, { channel = 2, name = "Door" }]
[vehicle.recorder]
map = "tinbrook-two"
serial = "T"
firmware = "1.0"
place = "aft"
supply_volts = 24
"""

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Home:
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "tinbrook-two.toml").write_text(TINBROOK, encoding="utf-8")
    (tmp_path / "fleet.toml").write_text(FLEET, encoding="utf-8")
    monkeypatch.setenv("ASFOUND_HOME", str(tmp_path))
    monkeypatch.delenv("ASFOUND_STORE", raising=False)
    monkeypatch.delenv("ASFOUND_BY", raising=False)
    return home_at(tmp_path)


@pytest.fixture
def run(home: Home, capsys: pytest.CaptureFixture[str]) -> Run:
    def go(*arguments: str) -> tuple[int, str, str]:
        code = call([*arguments])
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return code, said.out, said.err

    return go


@pytest.fixture
def visit(run: Run) -> str:
    code, out, _ = run(
        "visit", "open", "qb04xkm", "--procedure", "firmware-and-reset", "--by", "ada"
    )
    assert code == 0
    return out.split()[1]


def as_found(home: Home, visit: str, values: dict[str, str]) -> None:
    """A reading as `visit read` records it."""
    desk = home.desk()
    full = VALUES | {"camera-2.size": "CIF"}
    made = reading({key: full[key] for key in values}, desk, doubts={})
    record_as_found(RecordReading(visit, MAP, made, "ada"), desk=desk)


def test_a_visit_on_the_command_line(run: Run, home: Home, visit: str) -> None:
    code, out, _ = run("visit", "show", visit)
    assert code == 0
    assert "FIND THE RECORDER" in out and "CAUTION  Park, chock, keep the key." in out
    assert "no page was read yet" in out
    assert f"\n      asfound visit done {visit} locate\n" in out
    assert run("visit", "done", visit, "locate", "power", "monitor", "--by", "ada")[0] == 0
    code, _, err = run("visit", "done", visit, "reset", "--by", "ada")
    assert code == ExitCode.GATE_SHUT
    assert err.startswith("asfound: step 'reset' (Reset to factory settings) is locked: no page")
    assert err.count("\n") == 1
    assert f"\n      asfound visit read {visit} PHOTO...\n" in run("visit", "show", visit)[1]
    code, _, err = run("visit", "doubts", visit)
    assert code == ExitCode.USAGE and "nothing was read yet" in err


def test_settling_and_its_refusals(run: Run, home: Home, visit: str) -> None:
    run("visit", "done", visit, "locate", "power", "monitor", "--by", "ada")
    desk = home.desk()
    known = {key: value for key, value in VALUES.items() if key != "camera-1.size"}
    unsure = reading(known, desk, doubts={"camera-1.size": ("HD", "CIF")})
    record_as_found(RecordReading(visit, MAP, unsure, "ada"), desk=desk)
    code, out, _ = run("visit", "doubts", visit)
    assert code == ExitCode.FINDINGS and "HD or CIF" in out and "blurred" in out
    code, _, err = run("visit", "settle", visit, "camera-1.size", "huge", "--by", "ada")
    assert code == ExitCode.USAGE and "'huge' is not one of" in err
    code, out, _ = run("visit", "settle", visit, "camera-1.size", "HD", "--by", "ada")
    assert code == 0 and "next: Load the new firmware [firmware]" in out
    code, out, _ = run("visit", "doubts", visit)
    assert code == 0 and "nothing is in doubt" in out
    code, _, err = run("visit", "done", visit, "firmware", "--by", "ada")
    assert code == ExitCode.USAGE and "--firmware VERSION" in err
    assert run("visit", "done", visit, "firmware", "--firmware", "2.0", "--by", "ada")[0] == 0
    _, out, _ = run("visit", "show", visit)
    assert "firmware 1.0, now 2.0" in out and "✓  6  Load the new firmware   done by ada" in out


def test_an_inspection_from_opening_to_a_check(run: Run, home: Home) -> None:
    _, out, _ = run("visit", "open", "217", "--procedure", "inspection", "--by", "ada")
    visit = out.split()[1]
    run("visit", "done", visit, "locate", "power", "monitor", "--by", "ada")
    as_found(home, visit, VALUES)
    code, out, _ = run("visit", "compare", visit)
    assert code == ExitCode.FINDINGS
    assert "1 missed" in out and "Camera 2" in out
    code, _, err = run("visit", "close", visit, "--by", "ada")
    assert code == ExitCode.GATE_SHUT and "1 setting still open: camera-2.record" in err
    assert run("visit", "done", visit, "compare", "--by", "ada", "--note", "told the depot")[0] == 0
    code, out, _ = run(
        "visit", "override", visit, "close", "as-left-compared", "--by", "ada",
        "--reason", "the depot wants it off",
    )  # fmt: skip
    assert code == 0 and "the report says so" in out
    desk = home.desk()
    record_proof(RecordProof(visit, proof(ProofVerdict.RECORDS, desk), "ada"), desk=desk)
    run("visit", "note", visit, "seal 4711", "--by", "ada", "--step", "close")
    code, out, _ = run("visit", "close", visit, "--by", "ada")
    assert code == 0 and "is closed" in out
    code, out, _ = run("visit", "show", visit)
    assert "override of as-left-compared at close by ada: the depot wants it off" in out
    assert "note at close by ada: seal 4711" in out and "closed 20" in out
    code, _, err = run("visit", "note", visit, "more", "--by", "ada")
    assert code == ExitCode.USAGE and "takes no more entries" in err
    code, out, _ = run("visit", "check", visit)
    assert code == 0 and "entries chained" in out
    code, out, _ = run("visit", "list")
    assert "closed" in out and "8/8" in out
    code, out, _ = run("visit", "list", "--json")
    assert json.loads(out)[0]["closed"] is True
    code, out, _ = run("visit", "show", visit, "--json")
    assert json.loads(out)["closed_by"] == "ada"


def test_the_sheet_of_a_visit_on_screen_and_as_a_page(
    run: Run, home: Home, visit: str, tmp_path: Path
) -> None:
    run("visit", "done", visit, "locate", "power", "monitor", "--by", "ada")
    code, _, err = run("visit", "rekey", visit)
    assert code == ExitCode.USAGE and "nothing was read yet" in err
    as_found(home, visit, VALUES)
    page = tmp_path / "sheet.html"
    code, out, _ = run("visit", "rekey", visit, "--html", str(page))
    assert code == 0 and "Re-key sheet: Tinbrook Two, firmware 1.0" in out
    text = page.read_text(encoding="utf-8")
    assert "<html" in text and "217 (QB 04 XKM)" in text and visit in text
    before = home.visit(visit).entries
    assert run("visit", "rekey", visit)[0] == 0
    assert home.visit(visit).entries == before  # looking again changes nothing
    code, _, err = run("visit", "rekey", visit, "--html", str(tmp_path / "none" / "x.html"))
    assert code == ExitCode.STORAGE and "none/x.html" in err


def test_a_changed_journal_is_refused(run: Run, home: Home, visit: str) -> None:
    run("visit", "done", visit, "locate", "--by", "ada")
    connection = sqlite3.connect(home.path / "asfound.db")
    connection.execute("UPDATE entry SET \"by\" = 'bo' WHERE seq = 1")
    connection.commit()
    connection.close()
    code, out, err = run("visit", "check", visit)
    assert code == ExitCode.INTEGRITY
    assert "entry 1 (step-done) was changed" in out and "1 fault" in err
    code, out, _ = run("visit", "check", visit, "--json")
    assert code == ExitCode.INTEGRITY and len(json.loads(out)["faults"]) == 1
    code, _, err = run("visit", "show", visit)
    assert code == ExitCode.INTEGRITY and "was changed after it was written" in err


def test_holds_lock_the_drive_step_until_released(run: Run, visit: str) -> None:
    code, out, _ = run(
        "hold", "place", "217", "--from", "2026-11-24T07:30", "--to",
        "2026-11-24T09:00:00+00:00", "--reason", "claim 12", "--by", "office",
    )  # fmt: skip
    assert code == 0
    assert "from 2026-11-24T07:30+00:00 to 2026-11-24T09:00+00:00: claim 12" in out
    _, out, _ = run("visit", "show", visit)
    assert "FOOTAGE HELD: hold-217-1, claim 12" in out
    assert "footage is held: hold-217-1 (claim 12)" in out
    assert "held" in run("fleet", "list")[1]
    code, _, err = run(
        "visit", "override", visit, "drive", "no-hold", "--by", "ada", "--reason", "late"
    )
    assert code == ExitCode.USAGE and "never overridden" in err
    code, out, _ = run("hold", "release", "hold-217-1", "--by", "office", "--reason", "copied")
    assert code == 0 and "released by office: copied" in out
    assert "footage is held" not in run("visit", "show", visit)[1]
    code, out, _ = run("hold", "list", "--vehicle", "217")
    assert "by office: copied" in out
    assert json.loads(run("hold", "list", "--json")[1])[0]["released_by"] == "office"


def test_local_times_that_happen_twice_take_the_wider_span(home: Home) -> None:
    # London, 25 October 2026: 01:30 happens first at +01:00, then at +00:00 (IANA tzdata).
    zone = home.zone()
    first, second = (parse_time("2026-10-25T01:30", zone, fold=fold) for fold in (0, 1))
    assert first == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert second == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    with pytest.raises(UsageError, match="is not a time"):
        parse_time("yesterday", zone)


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("visit", "show", "nope"), ExitCode.NOT_FOUND, "no visit 'nope'"),
        (("visit", "check", "nope"), ExitCode.NOT_FOUND, "no visit 'nope'"),
        (
            ("visit", "open", "999", "--procedure", "inspection", "--by", "ada"),
            ExitCode.NOT_FOUND,
            "no vehicle '999'",
        ),
        (
            ("visit", "open", "217", "--procedure", "dance", "--by", "ada"),
            ExitCode.NOT_FOUND,
            "known are drive-swap, firmware-and-reset, inspection",
        ),
        (("visit", "open", "217", "--procedure", "inspection"), ExitCode.USAGE, "--by"),
        (
            ("visit", "prove", "v", "clip.mp4", "--reference", "no/such"),
            ExitCode.NOT_FOUND,
            "no such folder",
        ),
        (("visit", "prove", "v", "clip.mp4", "--clock-now", "noon"), ExitCode.USAGE, "--clock-now"),
        (("hold", "release", "h", "--by", "a", "--reason", "b"), ExitCode.NOT_FOUND, "no hold"),
        (("fleet", "check", "none.toml"), ExitCode.NOT_FOUND, "none.toml"),
    ],
)
def test_what_is_not_there_is_one_line_and_its_exit_code(
    run: Run, arguments: tuple[str, ...], code: ExitCode, says: str
) -> None:
    got, _, err = run(*arguments)
    assert got == code
    assert says in err and err.count("\n") == 1


def test_several_steps_share_no_note(run: Run, visit: str) -> None:
    code, _, err = run("visit", "done", visit, "locate", "power", "--by", "ada", "--note", "x")
    assert code == ExitCode.USAGE and "belong to one step" in err


def test_the_fleet_file_is_checked(run: Run, home: Home) -> None:
    code, out, _ = run("fleet", "check")
    assert code == 0 and "1 vehicle, 1 standard, nothing wrong" in out
    path = home.path / "fleet.toml"
    path.write_text(FLEET.replace('"camera-2.record" = "on"', '"camera-7.record" = "on"'))
    code, out, err = run("fleet", "check", str(path))
    assert code == ExitCode.BAD_INPUT
    assert "no field 'camera-7.record'" in out and "1 fault, listed above" in err
    path.write_text(FLEET.replace('"bus"', '"tram"'))
    line = FLEET[: FLEET.index('"bus"')].count("\n") + 1
    code, _, err = run("fleet", "list")
    assert code == ExitCode.BAD_INPUT and f"{path}:{line}: " in err


def test_a_home_without_a_fleet_says_what_to_do(run: Run, tmp_path: Path) -> None:
    code, _, err = run("fleet", "list", "--home", str(tmp_path / "none"))
    assert code == ExitCode.NOT_FOUND and "asfound demo" in err
    assert not (tmp_path / "none").exists()  # looking makes nothing


def test_own_procedures_stand_beside_shipped_ones(run: Run, home: Home) -> None:
    own = home.path / "procedures"
    own.mkdir()
    shipped = home.procedure_paths()["inspection"].read_text(encoding="utf-8")
    (own / "mine.toml").write_text(shipped.replace('id = "inspection"', 'id = "mine"'))
    (own / "other.toml").write_text(shipped)
    assert run("visit", "open", "217", "--procedure", "mine", "--by", "ada")[0] == 0
    code, _, err = run("visit", "open", "217", "--procedure", "other", "--by", "ada")
    assert code == ExitCode.BAD_INPUT and "name the file inspection.toml" in err


def test_a_file_that_is_no_photograph_is_told_and_kept(
    run: Run, home: Home, visit: str, tmp_path: Path
) -> None:
    run("visit", "done", visit, "locate", "power", "monitor", "--by", "ada")
    note = tmp_path / "note.jpg"
    note.write_bytes(b"not a picture")
    code, out, err = run("visit", "read", visit, str(note), str(tmp_path / "none.jpg"))
    assert code == ExitCode.NOT_FOUND and "none.jpg" in err
    folder = tmp_path / "phone"
    folder.mkdir()
    note.rename(folder / "note.jpg")
    code, out, err = run("visit", "read", visit, str(folder))
    assert code == ExitCode.BAD_PICTURE
    assert "note.jpg" in out and "0 of 3 pages" in out and "not photographed: General" in out
    state = home.visit(visit)
    assert state.as_found is not None and len(state.as_found.missing_pages) == 3
    assert home.blobs().get(state.as_found.photos[0].sha256) == b"not a picture"


def test_another_serial_number_or_firmware_than_listed_is_told(
    home: Home, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    # Common practice, no source: a recorder is told from others by its serial number.
    shown = (
        Field("about.serial", "Serial", ReadOnly("serial"), means="serial"),
        Field("about.version", "Version", ReadOnly("version"), means="firmware"),
    )
    menu_map = replace(MAP, pages=(Page("about", "About", shown),))
    state = home.visit(visit)
    for values, says in (
        (("T", "1.0"), ""),
        (("T-99", "1.0"), "serial T-99, the fleet file says T;"),
        (("T", "2.0"), "firmware 2.0, the fleet file says 1.0;"),
    ):
        fields = tuple(
            FieldReading(field.id, field.label, value, value, State.SURE)
            for field, value in zip(shown, values, strict=True)
        )
        seen = Reading(MAP.id, values[1], (), fields, ())
        assert show_identity(state, seen, menu_map) is bool(says)
        assert says in capsys.readouterr().out
