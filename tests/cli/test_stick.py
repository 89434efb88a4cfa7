"""`asfound stick`: words, JSON and exit codes. "abc" has the SHA-256 of FIPS 180-4's example."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from tests.fake_drive import FakeStick
from tests.fake_stick import FACTS, MemoryStick
from tests.jobs.test_stick_prepare import ABC

from asfound.cli import wiring
from asfound.cli.main import call
from asfound.units import MIB

PATH = "SERVICE/LOAD/m4-203.mfw"


@pytest.fixture
def image(tmp_path: Path) -> Path:
    made = tmp_path / "m4-203.mfw"
    made.write_bytes(b"abc")
    return made


@pytest.fixture
def stick(monkeypatch: pytest.MonkeyPatch) -> MemoryStick:
    made = MemoryStick({"holiday.jpg": b"beach"})
    monkeypatch.setattr(wiring, "stick", lambda path: made)
    monkeypatch.setattr(wiring, "drive_space", lambda path: FakeStick(200 * MIB))
    return made


def prepare(image: Path, *options: str) -> int:
    by = ("--by", "Rosa Lint")
    return call(["stick", "prepare", str(image), "--to", "/media/stick", *by, *options])


def test_prepared_and_checked(
    image: Path, stick: MemoryStick, capsys: pytest.CaptureFixture[str]
) -> None:
    assert prepare(image, "--map", "marrowby-four", "--sha256", ABC, "--test", "samples") == 0
    told = capsys.readouterr()
    assert "prepared: exactly this image" in told.out and PATH in told.out and ABC in told.out
    assert "also on the stick, left alone: holiday.jpg (5 bytes)" in told.out
    assert "caution" in told.err and stick.things[PATH] == b"abc"
    stick.things["log.txt"] = b"done"
    assert call(["stick", "check", "/media/stick", "--sha256", ABC]) == 0
    out = capsys.readouterr().out
    assert "unchanged" in out and "added since: log.txt" in out and "by Rosa Lint" in out
    stick.things[PATH] = b"abd"
    assert call(["stick", "check", "/media/stick", "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["format"] == "asfound-stick/1" and data["verdict"] == "changed"
    assert [one["kind"] for one in data["findings"]] == ["image-changed"]
    assert data["added"] == [{"path": "log.txt", "kind": "file", "size": 4}]
    assert data["slip"]["sha256"] == ABC and "others" not in data["slip"]


def test_blocked_then_removed_as_asked(
    image: Path, stick: MemoryStick, capsys: pytest.CaptureFixture[str]
) -> None:
    stick.things["old.mfw"] = b"old"
    where = ("--pattern", "*.mfw", "--folder", "")
    assert prepare(image, *where) == 1
    out = capsys.readouterr().out
    assert "blocked: nothing was written" in out and "other-image: old.mfw" in out
    assert stick.changes == 0
    assert prepare(image, *where, "--remove-others", "old.mfw", "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert data["verdict"] == "prepared" and data["removed"] == ["old.mfw"]
    assert (data["image"], data["size"], data["read_back"]) == ("m4-203.mfw", 3, "direct")


def test_names_that_would_move_the_cursor_are_written_out(
    image: Path, stick: MemoryStick, capsys: pytest.CaptureFixture[str]
) -> None:
    stick.things["\x1b[2J\n.txt"] = b""
    assert prepare(image, "--pattern", "*.mfw") == 0
    assert "\x1b" not in capsys.readouterr().out
    assert call(["stick", "check", "/media/stick"]) == 0


@pytest.mark.parametrize(
    ("options", "code", "says"),
    [
        ((), 2, "--map MAP"),
        (("--folder", "x"), 2, "--map MAP"),
        (("--map", "marrowby-four", "--pattern", "*"), 2, "one of them"),
        (("--map", "none"), 8, "no menu map"),
        (("--pattern", "a/*"), 2, "folder"),
        (("--pattern", "*", "--folder", "../up"), 2, "no name of a file"),
        (("--pattern", "*.img"), 2, "--as"),
        (("--pattern", "*", "--as", "con.mfw"), 2, "device"),
        (("--pattern", "*", "--sha256", "0" * 64), 9, "fetch the image again"),
        (("--pattern", "*", "--test", "much"), 2, "--test"),
        (("--pattern", "*", "--by", " "), 2, "--by NAME"),
    ],
)
def test_wrong_calls_are_one_line(
    options: tuple[str, ...], code: int, says: str, image: Path, stick: MemoryStick,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    assert prepare(image, *options) == code
    told = capsys.readouterr()
    assert told.err.count("\n") == 1 and says in told.err and "Traceback" not in told.err
    assert stick.changes == 0


def test_a_map_that_does_not_say(
    image: Path, tmp_path: Path, stick: MemoryStick, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = Path("src/asfound/data/maps/marrowby-four.toml").read_text("utf-8")
    head, _, rest = whole.partition("[firmware_file]")
    own = tmp_path / "marrowby-four.toml"
    own.write_text(head + rest[rest.index("[keys]") :], "utf-8")
    assert prepare(image, "--map", str(own)) == 2
    assert "[firmware_file]" in capsys.readouterr().err
    own.write_text(whole.replace('folder = "SERVICE/LOAD"', 'folder = "../up"'), "utf-8")
    assert prepare(image, "--map", str(own)) == 3
    err = capsys.readouterr().err
    assert "marrowby-four.toml" in err and "no name of a file" in err
    assert stick.changes == 0


def test_ctrl_c_leaves_nothing_half(
    image: Path, stick: MemoryStick, capsys: pytest.CaptureFixture[str]
) -> None:
    stick.at, stick.fault = 4, "ctrl-c"
    assert prepare(image, "--pattern", "*.mfw") == 130
    assert "stopped" in capsys.readouterr().err.lower()
    assert set(stick.things) == {"holiday.jpg", "asfound-stick"}
    assert prepare(image, "--pattern", "*.mfw") == 0


def test_no_slip_and_other_file_systems(
    image: Path, stick: MemoryStick, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call(["stick", "check", "/media/stick"]) == 1
    assert "could not tell" in capsys.readouterr().out
    stick.facts_now = replace(FACTS, kind="fuseblk")
    assert prepare(image, "--pattern", "*.mfw") == 1
    out = capsys.readouterr().out
    assert "prepared" in out and "file-system: it has NTFS or exFAT" in out
