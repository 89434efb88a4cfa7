"""`asfound firmware import`: a sheet and files make a sound catalogue, or nothing."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from asfound.cli.main import call
from asfound.errors import ExitCode
from asfound.ports.backends.firmware_toml import load_catalogue

CSV = """map,order,hardware,version,file,needs,stones,notes
marrowby-four,dotted,A;B,1.12,one.bin,,,"first, with ""four"" channels"
marrowby-four,dotted,B,2.9,two.bin,1.12,,
marrowby-four,dotted,B,2.10,three.bin,,2.9,
"""


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "images").mkdir()
    for name in ("one", "two", "three"):
        (tmp_path / "images" / f"{name}.bin").write_bytes(name.encode())
    (tmp_path / "sheet.csv").write_text(CSV, encoding="utf-8")
    return tmp_path


def make(place: Path, sheet: str = "sheet.csv") -> int:
    out = str(place / "new.toml")
    return call(["firmware", "import", str(place / sheet), str(place / "images"), "-o", out])


def test_a_sheet_and_files_make_a_catalogue(place: Path) -> None:
    assert make(place) == ExitCode.OK
    made = load_catalogue(place / "new.toml")
    assert [image.version for image in made.images] == ["1.12", "2.9", "2.10"]
    assert made.images[0].hardware == ("A", "B")
    assert made.images[0].notes == 'first, with "four" channels'
    assert made.images[1].sha256 == hashlib.sha256(b"two").hexdigest()
    assert made.images[2].stones == ("2.9",) and made.images[1].needs == "1.12"
    assert not any(image.approved for image in made.images)


def test_a_file_that_is_there_stays(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (place / "new.toml").write_text("mine")
    assert make(place) == ExitCode.USAGE
    assert "is there already and is left alone" in capsys.readouterr().err
    assert (place / "new.toml").read_text() == "mine"


def test_files_that_the_sheet_does_not_name_are_told(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (place / "images" / "other.bin").write_bytes(b"x")
    assert make(place) == ExitCode.FINDINGS
    assert "left out, the sheet does not name it: other.bin" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (CSV.replace("two.bin", "lost.bin"), "sheet.csv:3: lost.bin is not in the folder"),
        (CSV.replace(",file,", ",path,"), "sheet.csv:1: there is no column file"),
        (CSV.replace(",notes", ",remarks"), "no column is called 'remarks'"),
        (CSV.replace("one.bin,,,", "one.bin,,"), "sheet.csv:2: 7 cells under 8 columns"),
        (CSV.replace("2.10,", "newest,"), "no dotted version"),
        (CSV.replace("2.10,", "2.9.0,"), "with another SHA-256"),
        (CSV.replace("two.bin", "../two.bin"), "sheet.csv:3: file: write the name alone"),
        (CSV.replace("dotted,B,2.9", "semver,B,2.9"), "sheet.csv:3: marrowby-four has the order"),
        (CSV.replace("dotted,A;B", ",A"), "sheet.csv:2: order is empty"),
        (CSV.partition("\n")[0], "names no image"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_written(
    place: Path, capsys: pytest.CaptureFixture[str], text: str, says: str
) -> None:
    (place / "sheet.csv").write_text(text, encoding="utf-8")
    assert make(place) == ExitCode.BAD_INPUT
    assert says in capsys.readouterr().err
    assert sorted(path.name for path in place.iterdir()) == ["images", "sheet.csv"]


def test_a_toml_sheet_with_the_makers_hash(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    digest = hashlib.sha256(b"one").hexdigest()
    text = (
        'format = "asfound-firmware-sheet/1"\n[[image]]\nmap = "m"\norder = "semver"\n'
        f'hardware = ["A"]\nversion = "1.0.0"\nfile = "one.bin"\nsha256 = "{digest.upper()}"\n'
    )
    (place / "sheet.toml").write_text(text, encoding="utf-8")
    assert make(place, "sheet.toml") == ExitCode.FINDINGS  # two files are not in it
    assert load_catalogue(place / "new.toml").images[0].sha256 == digest
    (place / "new.toml").unlink()
    (place / "images" / "one.bin").write_bytes(b"one!")
    assert make(place, "sheet.toml") == ExitCode.BAD_INPUT
    assert "sheet.toml:2: one.bin has the SHA-256" in capsys.readouterr().err
