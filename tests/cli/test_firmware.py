"""`asfound firmware`: the right image with reasons, attempts to get a wrong one, folders, JSON."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
import typer
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from tests.worked_visit import fleet_home
from typer.testing import CliRunner

from asfound.cli import firmware
from asfound.demo import scenario
from asfound.errors import AsfoundError, InputError, NotFound, UsageError

FLEET = "Brindlemere Haulage & Coaches"
GOOD = f'approved = [{{ fleet = "{FLEET}", by = "Rosa Lint", on = 2026-05-11 }}]\n'


def image(version: str, file: str, more: str = GOOD, hardware: str = "B") -> str:
    content = file.encode()
    return (
        f'[[image]]\nmap = "marrowby-four"\nhardware = ["{hardware}"]\nversion = "{version}"\n'
        f'file = "{file}"\nsize = {len(content)}\n'
        f'sha256 = "{hashlib.sha256(content).hexdigest()}"\n{more}'
    )


CATALOGUE = (
    'format = "asfound-firmware/1"\n[[model]]\nmap = "marrowby-four"\norder = "dotted"\n'
    '[[fitted]]\nserial = "MF-20417"\nhardware = "B"\n'
    + image("1.12", "mf_1_12.bin")
    + image("2.9", "mf_2_9.bin", 'needs = "1.12"\nfloor = "2.0"\n' + GOOD)
    + image("2.10", "mf_2_10.bin", 'stones = ["2.9"]\n' + GOOD)
    + image("3.0", "mf_3_0.bin", hardware="C")
    + image("2.11", "mf_2_11.bin", "")
    + image("2.12", "mf_2_12.bin", 'withdrawn = { on = 2026-06-01, why = "loses the clock" }\n')
)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    fleet_home(tmp_path)
    (tmp_path / "firmware.toml").write_text(CATALOGUE, encoding="utf-8")
    return tmp_path


def run(home: Path, *arguments: str) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    firmware.register(app)
    result = CliRunner().invoke(app, ["firmware", *arguments, "--home", str(home)])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout


def choose(home: Path, installed: str, *more: str) -> tuple[int, dict[str, object]]:
    recorder = ("--model", "marrowby-four", "--hardware", "B", "--fleet", FLEET)
    code, said = run(home, "choose", *recorder, "--installed", installed, *more, "--json")
    data = json.loads(said)
    assert data["format"] == "asfound-firmware-choose/1"
    return code, data


def versions(data: dict[str, object]) -> list[str]:
    steps = data["steps"]
    assert isinstance(steps, list)
    return [step["version"] for step in steps]


def why(data: dict[str, object]) -> dict[str, str]:
    rejected = data["rejected"]
    assert isinstance(rejected, list)
    return {one["version"]: one["why"] for one in rejected}


def test_the_way_of_a_vehicle_over_its_stepping_stone(home: Path) -> None:
    code, said = run(home, "choose", "--vehicle", scenario.VEHICLE)
    assert code == 0
    assert "put on 2.10 (mf_2_10.bin) in 2 steps" in said
    assert "1. 1.12 → 2.9" in said and "2. 2.9 → 2.10" in said
    assert "goes only over 2.9: 2.9 is" in said and f"approved for {FLEET} by Rosa Lint" in said
    # The list of the folder ends with mf_3_0.bin, which is for other hardware.
    assert "warning: the highest file name, mf_3_0.bin (3.0), would be wrong" in said
    assert "is for hardware C, the recorder is B" in said


def test_each_image_that_must_not_be_used_says_why(home: Path) -> None:
    code, data = choose(home, "1.12")
    assert code == 0 and versions(data) == ["2.9", "2.10"]
    assert why(data) == {
        "3.0": "wrong-hardware", "2.12": "withdrawn", "2.11": "not-approved",
        "2.9": "not-the-newest", "1.12": "installed",
    }  # fmt: skip


def test_nine_is_not_above_ten_whatever_the_files_are_called(home: Path) -> None:
    kept = CATALOGUE.partition('[[image]]\nmap = "marrowby-four"\nhardware = ["C"]')[0]
    (home / "firmware.toml").write_text(kept, encoding="utf-8")
    _, data = choose(home, "1.12")
    assert versions(data)[-1] == "2.10"
    warnings = data["warnings"]
    assert isinstance(warnings, list) and "mf_2_9.bin (2.9), would be wrong" in warnings[0]


def test_nothing_to_do_and_nothing_that_fits(home: Path) -> None:
    code, data = choose(home, "2.10")
    assert code == 0 and data["answer"] == "nothing-to-do" and versions(data) == []
    code, data = choose(home, "1.08")
    assert code == 1 and data["answer"] == "put-on" and versions(data)[-1] == "2.10"
    assert "the catalogue has no image of the installed 1.08" in str(data["findings"])
    code, data = choose(home, "2.12")
    assert code == 1 and data["answer"] == "nothing-fits"
    assert "the installed 2.12 was withdrawn" in str(data["findings"])


def test_asking_for_a_version_opens_no_door(home: Path) -> None:
    for wrong in ("2.11", "2.12", "1.12"):  # not approved, withdrawn, below the floor
        code, data = choose(home, "2.10", "--to", wrong)
        assert code == 1 and data["answer"] == "nothing-fits" and versions(data) == [], wrong
    code, data = choose(home, "2.10", "--to", "2.9")
    assert code == 1 and versions(data) == ["2.9"]
    assert "2.9 is older than the installed 2.10" in str(data["findings"])
    with pytest.raises(NotFound, match=r"no image of 3\.0 for hardware B"):
        choose(home, "2.10", "--to", "3.0")


def test_another_fleet_and_none_get_nothing(home: Path) -> None:
    recorder = ("--model", "marrowby-four", "--hardware", "B", "--installed", "1.12")
    for whose in ((), ("--fleet", "Other"), ("--fleet", "*")):
        code, said = run(home, "choose", *recorder, *whose)
        assert code == 1 and "nothing fits, put nothing on" in said
    assert "not approved for" in said


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--model", "marrowby-four"), "--hardware"),
        (("--vehicle", scenario.VEHICLE, "--hardware", "C"), "look at its label"),
        (("--vehicle", scenario.VEHICLE, "--fleet", "Other"), "is of fleet"),
        (("--vehicle", scenario.VEHICLE, "--model", "other"), "has a marrowby-four"),
        (("--vehicle", scenario.VEHICLE, "--installed", "newest"), "no dotted version"),
    ],
)
def test_wrong_calls(home: Path, arguments: tuple[str, ...], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        run(home, "choose", *arguments)


def test_hardware_that_nobody_knows_is_asked_for(home: Path) -> None:
    text = CATALOGUE.replace("MF-20417", "MF-1")
    (home / "firmware.toml").write_text(text, encoding="utf-8")
    with pytest.raises(UsageError, match="read it off the label"):
        run(home, "choose", "--vehicle", scenario.VEHICLE)


def test_list(home: Path) -> None:
    code, said = run(home, "list")
    assert code == 0 and "mf_2_10.bin" in said and "only over 2.9" in said
    gone = 'withdrawn = { on = 2026-06-01, why = "hot" }\n'
    text = CATALOGUE + image("9", "mf_9.bin", GOOD + gone)
    (home / "firmware.toml").write_text(text, encoding="utf-8")
    code, said = run(home, "list", "--json")
    data = json.loads(said)
    assert code == 1 and data["format"] == "asfound-firmware-list/1" and len(data["images"]) == 7
    assert "was approved for Brindlemere" in data["findings"][0]
    (home / "firmware.toml").unlink()
    with pytest.raises(NotFound, match=r"docs/firmware\.md"):
        run(home, "list")


def test_a_folder_against_the_catalogue(home: Path, tmp_path: Path) -> None:
    folder = tmp_path / "images"
    folder.mkdir()
    for name, content in (
        ("mf_1_12.bin", b"mf_1_12.bin"),
        ("mf_2_9.bin", b"mf_2_9.bim"),  # as long, another last letter
        ("mf_2_10.bin", b"short"),
        ("newest.bin", b"mf_3_0.bin"),
        ("readme.txt", b"hello"),
        ("mf_2_12.bin", b"mf_2_12.bin"),
    ):
        (folder / name).write_bytes(content)
    (folder / "mf_2_11.bin").symlink_to(folder / "mf_1_12.bin")
    code, said = run(home, "check", str(folder), "--json")
    data = json.loads(said)
    assert code == 1 and data["format"] == "asfound-firmware-check/1"
    verdicts = {one["file"]: one["verdict"] for one in data["files"]}
    assert verdicts == {
        "mf_1_12.bin": "right", "mf_2_9.bin": "wrong-hash", "mf_2_10.bin": "wrong-size",
        "newest.bin": "other-name", "readme.txt": "unknown", "mf_2_12.bin": "right",
        "mf_2_11.bin": "no-file", "mf_3_0.bin": "missing",
    }  # fmt: skip
    assert [one["file"] for one in data["files"] if one["withdrawn"]] == ["mf_2_12.bin"]
    with pytest.raises(NotFound):
        run(home, "check", str(tmp_path / "nowhere"))


def test_a_folder_in_which_all_is_right(home: Path, tmp_path: Path) -> None:
    folder = tmp_path / "images"
    folder.mkdir()
    for name in ("mf_1_12", "mf_2_9", "mf_2_10", "mf_2_11", "mf_3_0"):
        (folder / f"{name}.bin").write_bytes(f"{name}.bin".encode())
    code, said = run(home, "check", str(folder))
    assert code == 0 and said.count("right") == 5


def test_signatures_of_the_maker(home: Path, tmp_path: Path) -> None:
    """RFC 8032, 7.1, test 3 (from memory; computed again by the cryptography package): the message
    af82 and its signature."""
    seed = bytes.fromhex("c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7")
    message = bytes.fromhex("af82")
    secret = Ed25519PrivateKey.from_private_bytes(seed)
    public, signature = secret.public_key().public_bytes_raw().hex(), secret.sign(message).hex()
    assert public.startswith("fc51cd8e") and signature.startswith("6291d657deec2402")
    folder = tmp_path / "images"
    folder.mkdir()
    (folder / "a.bin").write_bytes(message)
    digest = hashlib.sha256(message).hexdigest()

    def verdict(key: str, signed: str) -> tuple[int, str]:
        text = (
            'format = "asfound-firmware/1"\n[[model]]\nmap = "m"\norder = "dotted"\n'
            f'{key}[[image]]\nmap = "m"\nhardware = ["A"]\nversion = "1"\nfile = "a.bin"\n'
            f'size = 2\nsha256 = "{digest}"\n{signed}'
        )
        (home / "firmware.toml").write_text(text, encoding="utf-8")
        code, said = run(home, "check", str(folder), "--json")
        return code, json.loads(said)["files"][0]["verdict"]

    key, signed = f'key = "{public}"\n', f'signature = "{signature}"\n'
    other = f'key = "{"3d" * 32}"\n'
    assert verdict(key, signed) == (0, "right")
    assert verdict(key, "") == (1, "not-signed")
    assert verdict("", "") == (0, "right")
    assert verdict(other, signed) == (1, "wrong-signature")
    assert verdict(key, signed.replace("6291", "6290")) == (1, "wrong-signature")
    with pytest.raises(InputError, match="has no key to check it by"):
        verdict("", signed)
