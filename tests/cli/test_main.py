"""The command line as a whole: one line for what is wrong, the documented code, no traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from asfound.cli.main import COMMANDS, build, call, load
from asfound.errors import ExitCode
from asfound.version import VERSION


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    """Exit code and standard error of a call."""
    code = call(list(arguments))
    return code, capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (["frobnicate"], ExitCode.USAGE, "No such command"),
        (["read", "--frob"], ExitCode.USAGE, "--frob"),
        (["read", "nowhere.jpg", "--map", "marrowby-four"], ExitCode.NOT_FOUND, "nowhere.jpg"),
        (["map", "show", "no-such-recorder"], ExitCode.NOT_FOUND, "no-such-recorder"),
        (["map", "check", "no-such.toml"], ExitCode.NOT_FOUND, "no-such.toml"),
        (["prove", "no-such-folder"], ExitCode.NOT_FOUND, "no-such-folder"),
    ],
)
def test_a_wrong_call_is_one_line(
    capsys: pytest.CaptureFixture[str], arguments: list[str], code: ExitCode, says: str
) -> None:
    got, err = refused(capsys, *arguments)
    assert got == code
    assert err.count("\n") == 1
    assert says in err
    assert "Traceback" not in err


def test_what_is_not_a_picture_is_named_and_the_rest_goes_on(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    letter = tmp_path / "letter.jpg"
    letter.write_text("dear all")
    code, err = refused(capsys, "read", str(letter), "--map", "marrowby-four")
    assert code == ExitCode.BAD_PICTURE
    assert err.count("\n") == 1
    assert "letter.jpg: not a picture" in err


def test_a_place_that_takes_no_files_is_a_storage_error(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    photo = tmp_path / "photo.png"
    photo.write_bytes(b"never read: it could not be stored first")
    code, err = refused(
        capsys, "read", str(photo), "--map", "marrowby-four", "--blobs", "/sys/nothing-goes-here"
    )
    assert code == ExitCode.STORAGE
    assert err.count("\n") == 1


def test_help_and_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert load(["--version"]) == (), "the version is said at once"
    assert call(["--version"]) == ExitCode.OK
    assert VERSION in capsys.readouterr().out
    assert call(["--help"]) == ExitCode.OK
    shown = capsys.readouterr().out
    assert all(name in shown for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_loads_alone_and_is_called_as_its_module(name: str) -> None:
    (module,) = load([name, "--help"])
    assert module.__name__ == f"asfound.cli.{name}"
    made = build([name])
    names = [one.name for one in made.registered_commands]
    names += [one.name for one in made.registered_groups]
    assert names == [name]


def test_what_is_no_command_loads_them_all() -> None:
    assert len(load(["frobnicate"])) == len(load([])) == len(load(["--help"])) == len(COMMANDS)


def test_a_group_without_a_command_shows_its_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert call(["visit"]) == ExitCode.USAGE
    assert "rekey" in capsys.readouterr().out
