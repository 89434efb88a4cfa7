"""`asfound fault` and `asfound visit fault`: tables, JSON, the walk at the keyboard, exit codes."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.cli.test_visit import FLEET, TINBROOK
from tests.jobs.test_visit_fault import close
from tests.ports.test_faults_toml import GOOD
from tests.terminal import Terminal
from tests.visit_kit import opened

from asfound.cli.main import call
from asfound.errors import ExitCode
from asfound.jobs.visit_journal import Desk
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.store_sql import SqlStore

Run = Callable[..., tuple[int, str, str]]
FUSE = ("--symptom", "no-power-light", "--checked", "look-at-fuse=blown")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    def go(*arguments: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        monkeypatch.setenv("ASFOUND_HOME", str(tmp_path))
        monkeypatch.delenv("ASFOUND_BY", raising=False)
        monkeypatch.delenv("ASFOUND_STORE", raising=False)
        code = call(list(arguments))
        said = capsys.readouterr()
        return code, said.out, said.err

    return go


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "tinbrook-two.toml").write_text(TINBROOK, encoding="utf-8")
    (tmp_path / "fleet.toml").write_text(FLEET, encoding="utf-8")
    store = SqlStore(f"sqlite:///{tmp_path / 'asfound.db'}")
    return Desk(store, FileBlobs(tmp_path / "blobs"), SystemClock())


def test_a_fault_that_is_sure_enough(run: Run, tmp_path: Path) -> None:
    code, out, _ = run("fault", *FUSE)
    assert code == 0 and "sure enough, 9" in out and "Find out why it blew" in out
    assert "REPAIR  Blown fuse   about 8 min" in out
    assert "CAUTION  Batteries burn and burst." in out and "no closed visit recorded" in out
    # Asking makes no database in a folder that has none.
    assert not (tmp_path / "asfound.db").exists()


def test_what_to_check_next(run: Run) -> None:
    code, out, _ = run("fault", "--symptom", "no-power-light")
    assert code == ExitCode.FINDINGS
    assert "check next: Look at the recorder's fuse" in out and "REPAIR" not in out
    assert re.search(r"\n      blown +\d+%  blown\n", out)
    assert "asfound fault --symptom no-power-light --checked look-at-fuse=OUTCOME" in out


def test_json(run: Run) -> None:
    code, out, _ = run(
        "fault", "--symptom", "one-camera-dark", "--without", "gaps",
        "--checked", "channel-page=right", "--tried", "lens", "--sure", "80%", "--json",
    )  # fmt: skip
    assert code == ExitCode.FINDINGS
    told = json.loads(out)
    assert told["format"] == "asfound-fault/1" and told["verdict"] == "check"
    assert told["evidence"] == {
        "symptoms": ["one-camera-dark"], "without": ["gaps"], "tried": ["lens"],
        "checked": [{"check": "channel-page", "outcome": "right"}],
    }  # fmt: skip
    assert told["sure"] == 0.8 and told["learned"] == {"visits": 0, "faults": 0, "skipped": 0}
    assert sum(one["chance"] for one in told["causes"]) == pytest.approx(1)
    first = told["checks"][0]
    assert first["bits_a_minute"] == pytest.approx(first["bits"] / first["minutes"])
    assert sum(one["chance"] for one in first["outcomes"]) == pytest.approx(1)
    assert "invented" in told["guide"]["source"]
    assert (
        run("fault", "--symptom", "gaps", "--json")[1]
        == run("fault", "--symptom", "gaps", "--json")[1]
    )


def test_the_list(run: Run) -> None:
    code, out, _ = run("fault", "list")
    assert code == 0 and "look-at-fuse" in out and "no-power-light" in out and "monitor-lead" in out
    assert "invented" in out and "something-else" in out
    told = json.loads(run("fault", "list", "--json")[1])
    assert told["format"] == "asfound-fault-list/1"
    assert all(one["low"] < one["share"] < one["high"] for one in told["causes"])
    assert {"id", "title", "how", "minutes", "outcomes"} <= set(told["checks"][0])


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        ((), ExitCode.USAGE, "name what is seen"),
        (("--symptom", "no-power-lite"), ExitCode.USAGE, "did you mean no-power-light?"),
        (("--checked", "look-at-fuse"), ExitCode.USAGE, "look-at-fuse=blown"),
        (("--symptom", "gaps", "--sure", "3"), ExitCode.USAGE, "write 90%"),
        (("--ask", "--json"), ExitCode.USAGE, "do not go together"),
        (("--symptom", "gaps", "--data", "none.toml"), ExitCode.NOT_FOUND, "none.toml"),
        (("--symptom", "gaps", "--plot", "x.doc"), ExitCode.USAGE, ".svg, .png or .pdf"),
    ],
)
def test_what_is_refused_in_one_line(
    run: Run, arguments: tuple[str, ...], code: int, says: str
) -> None:
    found, _, err = run("fault", *arguments)
    assert found == code and says in err and err.count("\n") == 1


def test_a_guide_of_ones_own(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(GOOD, encoding="utf-8")
    code, out, _ = run("fault", "--data", str(path), "--symptom", "dark", "--checked", "look=blown")
    assert code == 0 and "REPAIR  Fuse" in out
    (tmp_path / "faults.toml").write_text(GOOD, encoding="utf-8")
    assert run("fault", "--symptom", "dark")[0] == ExitCode.FINDINGS
    path.write_text(GOOD.replace("[0.9, 0.1]", "[0.9, 0.3]"), encoding="utf-8")
    code, _, err = run("fault", "--data", str(path), "--symptom", "dark")
    assert code == ExitCode.BAD_INPUT and "mine.toml:48: check 'look'" in err and "1.2" in err


def test_a_plot(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "causes.svg"
    assert run("fault", *FUSE, "--plot", str(path))[0] == 0
    drawn = path.read_text("utf-8")
    assert "Blown fuse" in drawn and "sure enough" in drawn and "chance [%]" in drawn


# --- the walk -----------------------------------------------------------------------------------


def test_a_walk_by_keys(run: Run) -> None:
    # no light; fuse blown; back; could not tell; another check; all causes; wrong key; stop.
    keys = "1\n2\nu\nc\nn\nl\n9\nq\n"
    code, out, _ = run("fault", "--ask", typed=keys)
    assert code == ExitCode.FINDINGS
    assert "CHECK  Look at the recorder's fuse" in out and "REPAIR  Blown fuse" in out
    assert "press 1 to" in out and "Position receiver has failed" in out
    assert "--symptom no-power-light --checked look-at-fuse=could-not-tell --ask" in out
    assert "asfound visit fault VISIT --symptom no-power-light" in out


def test_a_walk_goes_on_from_what_is_known_and_after_repairs_in_vain(run: Run) -> None:
    code, out, _ = run("fault", *FUSE, "--ask", typed="r\nu\nu\nq\n")
    assert code == 0 and "nothing to undo" in out and "which are there?" not in out
    code, out, _ = run("fault", *FUSE, "--ask", typed="r\n")
    assert code == ExitCode.FINDINGS and "--tried fuse --ask" in out


def test_symptoms_are_asked_until_they_are_numbers(run: Run) -> None:
    _, out, _ = run("fault", "--ask", typed="99\nx\n1, 12 1\nq\n")
    assert "99 is no number from 1 to 22" in out and "no symptom 'x'" in out
    assert "--symptom no-power-light --symptom gaps --ask" in out
    code, out, _ = run("fault", "--ask", typed="")
    # Nothing is known, so there is nothing to go on with.
    assert code == ExitCode.FINDINGS and "to go on:" not in out


def test_ctrl_c_tells_how_to_go_on(tmp_path: Path) -> None:
    shown = Terminal(["fault"], {"ASFOUND_HOME": str(tmp_path), "COLUMNS": "100"})
    try:
        shown.until("Enter for none: ")
        shown.press("1\r")
        shown.until("q stop")
        shown.press("1")
        shown.until("q stop")
        shown.press("\x03")
        said = shown.until("once it is repaired")
        assert "--symptom no-power-light --checked" in said.replace("\r\n", " ")
        assert shown.ended() == ExitCode.INTERRUPTED
    finally:
        shown.close()


# --- recorded in a visit ------------------------------------------------------------------------


def test_a_visit_records_and_later_ones_learn(run: Run, desk: Desk) -> None:
    visit = opened(desk, "inspection").id
    code, out, _ = run("visit", "fault", visit, "--cause", "fuse", *FUSE, "--by", "ada")
    assert code == 0 and f"it counts once visit {visit} is closed" in out
    assert "fault by ada: Blown fuse [fuse]" in run("visit", "show", visit)[1]
    assert "no closed visit recorded" in run("fault", *FUSE)[1]
    wrong = ("--cause", "earth", "--note", "it was the earth after all", "--instead", "--by", "bo")
    assert run("visit", "fault", visit, *wrong)[0] == 0
    close(visit, desk)
    assert "learned from 1 fault in 1 closed visit" in run("fault", *FUSE)[1]
    assert "no closed visit recorded" in run("fault", *FUSE, "--no-learn")[1]
    told = json.loads(run("fault", "list", "--json")[1])
    assert [one["id"] for one in told["causes"] if one["found"]] == ["earth"]
    code, _, err = run("visit", "fault", visit, "--cause", "fuse", "--by", "ada")
    assert code == ExitCode.USAGE and "is closed" in err


def test_what_a_record_lacks_is_said(run: Run, desk: Desk) -> None:
    visit = opened(desk, "inspection").id
    for arguments, code, says in (
        (("--cause", "dragon", "--by", "ada"), ExitCode.NOT_FOUND, "asfound fault list"),
        (("--cause", "something-else", "--by", "ada"), ExitCode.USAGE, "say in a note"),
        (("--cause", "fuse", "--tried", "fuse", "--by", "ada"), ExitCode.USAGE, "in vain"),
        (("--cause", "fuse"), ExitCode.USAGE, "--by"),
    ):
        found, _, err = run("visit", "fault", visit, *arguments)
        assert found == code and says in err and err.count("\n") == 1
