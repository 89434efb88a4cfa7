"""`asfound drive test`: words, JSON, exit codes, on sticks in memory and on a real folder.

Figures are those the sticks were made with (tests/fake_drive.py).
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from tests.fake_drive import FakeStick
from typer.testing import CliRunner

from asfound.cli import drive, wiring
from asfound.errors import AsfoundError, NotFound, StorageError, UsageError
from asfound.jobs import drive_test
from asfound.ports.backends.drive_space_disk import FOLDER
from asfound.units import MIB


def run(*arguments: str | Path) -> tuple[int, str, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    drive.register(app)
    result = CliRunner().invoke(app, ["drive", "test", *map(str, arguments)])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout, result.stderr


def tried(stick: FakeStick, monkeypatch: pytest.MonkeyPatch, *options: str) -> tuple[int, str, str]:
    monkeypatch.setattr(wiring, "drive_space", lambda path: stick)
    return run("/media/stick", *options)


def test_a_sound_stick(monkeypatch: pytest.MonkeyPatch) -> None:
    code, said, warned = tried(FakeStick(200 * MIB), monkeypatch, "--needs", "1kbit/s")
    assert code == 0 and "sound: all that was written came back" in said
    assert "193 MB past the computer's memory" in said or "MB/s past" in said
    assert drive_test.CAUTION in " ".join(warned.split())


def test_a_false_stick(monkeypatch: pytest.MonkeyPatch) -> None:
    code, said, _ = tried(FakeStick(64 * MIB, 9 * MIB), monkeypatch)
    assert code == 1 and "faulty: do not record on it" in said
    assert "failing: counts-round: it says 67.1 MB and holds about 9.44 MB" in said
    assert "(limit 67.1 MB, what was written has to come back)" in said
    assert "really holds about  9.44 MB" in said
    assert "the content of another place" in said


def test_many_bad_places_are_named_in_part(monkeypatch: pytest.MonkeyPatch) -> None:
    stick = FakeStick(200 * MIB, flips=tuple(range(0, 20 * MIB, MIB)))
    code, said, _ = tried(stick, monkeypatch)
    assert code == 1 and "and 8 places more" in said and "20 single bits" in said


def test_json(monkeypatch: pytest.MonkeyPatch) -> None:
    code, said, _ = tried(FakeStick(64 * MIB, 9 * MIB, "zeros"), monkeypatch, "--json")
    data = json.loads(said)
    assert code == 1 and (data["format"], data["verdict"]) == ("asfound-drive-test/1", "faulty")
    assert (data["total_bytes"], data["real_bytes"]) == (64 * MIB, 9 * MIB)
    [finding] = data["findings"]
    assert (finding["kind"], finding["measured"], finding["limit"]) == (
        "forgets", 9 * MIB, 64 * MIB,
    )  # fmt: skip
    assert data["bad"] == [{"start": 9 * MIB, "bytes": 39 * MIB, "what": "blank"}]


def test_a_part_of_a_real_folder(tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("mine", "utf-8")
    (tmp_path / FOLDER).mkdir()
    (tmp_path / FOLDER / "000000.asfound-test").write_bytes(b"left")
    code, said, _ = run(tmp_path, "--most", "3MB")
    assert code == 1 and "could not tell: nothing wrong in what was looked at" in said
    assert "removed 1 file of an earlier, killed test" in said
    assert [one.name for one in tmp_path.iterdir()] == ["mine"]
    assert (tmp_path / "mine").read_text("utf-8") == "mine"


def test_only_clean(tmp_path: Path) -> None:
    folder = tmp_path / FOLDER
    folder.mkdir()
    for number in range(2):
        (folder / f"00000{number}.asfound-test").write_bytes(b"left")
    code, said, _ = run(tmp_path, "--clean")
    assert (code, said) == (0, "removed 2 files of an earlier, killed test\n")
    assert not folder.exists() and run(tmp_path, "--clean")[0] == 0
    (folder / "000000.asfound-test").mkdir(parents=True)
    with pytest.raises(StorageError, match=r"000000.asfound-test cannot be removed"):
        run(tmp_path, "--clean")


def test_too_little_to_tell_and_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    code, said, _ = tried(FakeStick(200 * MIB), monkeypatch, "--sampled")
    assert code == 0 and "size true: every sample came back" in said and "samples of it" in said
    code, said, _ = tried(FakeStick(200 * MIB), monkeypatch, "--needs", "999999999Mbit/s")
    assert code == 1 and "too-slow" in said


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--most", "2"), "--most: '2' is no figure"),
        (("--most", "0GB"), "more than 0"),
        (("--most", "1kB"), "no room for a test"),
        (("--needs", "fast"), "--needs: 'fast' is no figure"),
    ],
)
def test_what_cannot_be(tmp_path: Path, options: tuple[str, ...], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        run(tmp_path, *options)
    assert list(tmp_path.iterdir()) == []


def test_no_place(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="where the drive is mounted"):
        run(tmp_path / "none")
