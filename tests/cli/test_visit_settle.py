"""`asfound visit settle` without a terminal: keys by lines, as left, and what is refused."""

from __future__ import annotations

import io
import os
import pty
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.cli.test_visit import FLEET, TINBROOK
from tests.visit_kit import MAP, VALUES, opened, reading

from asfound.cli import output
from asfound.cli.keys import Keyboard
from asfound.cli.main import call
from asfound.errors import ExitCode
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_record import RecordReading, record_as_found, record_as_left
from asfound.model.visit import VisitState
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.store_sql import SqlStore

Run = Callable[..., tuple[int, str, str]]
SIZE = "camera-1.size"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "tinbrook-two.toml").write_text(TINBROOK, encoding="utf-8")
    (tmp_path / "fleet.toml").write_text(FLEET, encoding="utf-8")
    store = SqlStore(f"sqlite:///{tmp_path / 'asfound.db'}")
    return Desk(store, FileBlobs(tmp_path / "blobs"), SystemClock())


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    def go(typed: str, *arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        monkeypatch.setenv("ASFOUND_HOME", str(tmp_path))
        monkeypatch.delenv("ASFOUND_BY", raising=False)
        code = call(["visit", "settle", *arguments])
        said = capsys.readouterr()
        return code, said.out, said.err

    return go


def read(desk: Desk, name: str = "firmware-and-reset") -> str:
    visit = opened(desk, name).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=desk)
    known = {key: value for key, value in VALUES.items() if key not in (SIZE, "general.name")}
    doubts = {SIZE: ("HD", "CIF"), "general.name": ("AB",)}
    made = reading(known, desk, doubts=doubts)
    record_as_found(RecordReading(visit, MAP, made, "ada"), desk=desk)
    return visit


def state(desk: Desk, visit: str) -> VisitState:
    return load_visit(visit, store=desk.store, blobs=desk.blobs)


def test_keys_by_lines_until_the_input_ends(run: Run, desk: Desk) -> None:
    visit = read(desk)
    code, out, _ = run("1\nx\n2\nu\n", visit, "--by", "bo")
    assert code == ExitCode.FINDINGS
    for text in ("(each with Enter)", "there is no picture of it", "press a number", "1 left"):
        assert text in out
    assert [item.value for item in state(desk, visit).settled] == ["AB"]
    assert not state(desk, visit).is_done("settle")
    code, out, _ = run("2\n\n", visit, "--by", "bo")
    assert code == 0 and "all are answered" in out and "next: Load the new firmware" in out
    assert state(desk, visit).is_done("settle")
    code, out, _ = run("", visit, "--by", "bo")
    assert code == 0 and "nothing is in doubt" in out


def test_the_settings_as_left_come_first(run: Run, desk: Desk) -> None:
    visit = read(desk, "inspection")
    run("1\n1\n\n", visit, "--by", "bo")
    known = {key: value for key, value in VALUES.items() if key != SIZE}
    left = reading(known, desk, doubts={SIZE: ("CIF",)})
    record_as_left(RecordReading(visit, MAP, left, "ada"), desk=desk)
    code, out, _ = run("t\n  cif\nu\n1\nq\n", visit, "--by", "cy")
    assert code == 0 and "Size is asked again" in out and "1 value settled by cy, 0 left" in out
    now = state(desk, visit)
    assert [(item.value, item.by) for item in now.rounds[-1].settled] == [("CIF", "cy")]
    assert {item.by for item in now.settled} == {"bo"}
    code, out, _ = run("", visit, "--by", "cy", "--as-found")
    assert code == 0 and "nothing is in doubt" in out


def test_a_page_that_is_missing_is_said_and_not_asked(run: Run, desk: Desk) -> None:
    visit = opened(desk).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=desk)
    made = reading({"general.code": "set"}, desk, doubts={"general.name": ("AB",)})
    record_as_found(RecordReading(visit, MAP, made, "ada"), desk=desk)
    code, out, _ = run("1\n\n", visit, "--by", "bo")
    assert code == ExitCode.FINDINGS and "camera-1" not in out
    assert "2 pages still to photograph; their settings were not asked" in out


def test_a_drafted_map_takes_an_option_it_has_not_seen(
    run: Run, desk: Desk, tmp_path: Path
) -> None:
    visit = read(desk)
    code, _, err = run("", visit, SIZE, "HD 1080", "--by", "bo")
    assert code == ExitCode.USAGE and "'HD 1080' is not one of" in err
    path = tmp_path / "maps" / "tinbrook-two.toml"
    size = 'id = "camera-{n}.size"\n'
    assert size in TINBROOK
    path.write_text(TINBROOK.replace(size, size + 'drafted = ["options"]\n'), encoding="utf-8")
    code, out, _ = run("", visit, SIZE, "HD 1080", "--by", "bo")
    assert code == 0 and "settled as HD 1080" in out and "does not list it yet" in out
    code, _, err = run("", visit, SIZE, "C1F", "--by", "bo")
    assert code == ExitCode.USAGE and "looks like 'CIF'" in err
    code, out, _ = run("t\nBA\n\n", visit, "--by", "bo")
    assert code == 0 and "does not list" not in out
    assert {item.value for item in state(desk, visit).settled} == {"HD 1080", "BA"}


def test_a_new_option_is_offered_on_a_key_and_can_be_typed(
    run: Run, desk: Desk, tmp_path: Path
) -> None:
    path = tmp_path / "maps" / "tinbrook-two.toml"
    size = 'id = "camera-{n}.size"\n'
    path.write_text(TINBROOK.replace(size, size + 'drafted = ["options"]\n'), encoding="utf-8")
    visit = opened(desk).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=desk)
    known = {key: value for key, value in VALUES.items() if key != SIZE}
    made = reading(known, desk, doubts={SIZE: ("HD 1080", "HD")})
    record_as_found(RecordReading(visit, MAP, made, "ada"), desk=desk)
    code, out, _ = run("1\nu\nt\nQVGA\n\n", visit, "--by", "bo")
    assert code == 0 and "1  HD 1080   (not in the drafted map yet)" in out
    assert out.count("does not list it yet") == 2
    assert [(item.value, item.unlisted) for item in state(desk, visit).settled] == [("QVGA", True)]


def test_what_is_refused(run: Run, desk: Desk) -> None:
    visit = opened(desk).id
    code, _, err = run("", visit, "--by", "bo")
    assert code == ExitCode.USAGE and "nothing was read yet" in err
    code, _, err = run("", visit, SIZE, "--by", "bo")
    assert code == ExitCode.USAGE and "name the value of camera-1.size" in err
    code, _, err = run("", "nope", "--by", "bo")
    assert code == ExitCode.NOT_FOUND
    code, _, err = run("", visit)
    assert code == ExitCode.USAGE and "--by" in err


def test_input_that_is_closed_stops() -> None:
    keyboard = Keyboard(io.StringIO("first\n\nsecond\n"))
    assert keyboard.needs_enter
    with keyboard.listening():
        keyboard.forget()
        assert (keyboard.key(), keyboard.key()) == ("f", "")
        assert keyboard.line() == "second"
        assert (keyboard.line(), keyboard.key()) == (None, "q")


def test_an_answer_given_the_moment_the_question_is_there_counts(
    run: Run, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was pressed before is dropped first; from the question's first line on nothing is."""
    happened: list[str] = []
    monkeypatch.setattr(Keyboard, "forget", lambda _self: happened.append("forgotten"))
    say = output.say

    def noted(text: str = "", style: str = "") -> None:
        happened.append(text)
        say(text, style=style)

    monkeypatch.setattr(output, "say", noted)
    run("1\n1\n\n", read(desk), "--by", "bo")
    after = [happened[at + 1 : at + 3] for at, what in enumerate(happened) if what == "forgotten"]
    assert [lines[0] for lines in after] == ["", "", ""]
    assert after[-1][1].startswith("all are answered")


def test_a_line_typed_the_moment_it_is_asked_for_counts() -> None:
    """In a terminal that takes keys singly, no second Enter is waited for."""
    own, theirs = pty.openpty()
    with os.fdopen(theirs, encoding="utf-8") as stream:
        keyboard = Keyboard(stream)
        with keyboard.listening():
            with keyboard.typing():
                os.write(own, b"HD 720\n")
                assert keyboard.line() == "HD 720"
            os.write(own, b"q")
            assert keyboard.key() == "q"
    os.close(own)
