"""Makers' signatures by way of the catalogue, and sticks that take their image from it."""

from __future__ import annotations

import base64
import hashlib
import json
from pathlib import Path

import pytest
from tests.fake_drive import FakeStick
from tests.fake_stick import MemoryStick
from tests.maker_signed import CA, HASHED, IMAGE, KEY, LEAF, MID, OTHER, SIGNED
from tests.visit_kit import SetClock
from tests.worked_visit import fleet_home

from asfound.cli import wiring
from asfound.cli.main import call
from asfound.units import MIB

Out = pytest.CaptureFixture[str]
SHA = hashlib.sha256(IMAGE).hexdigest()
GONE = 'withdrawn = { on = 2026-06-01, why = "hot" }\n'
GOOD = 'approved = [ { fleet = "*", by = "Rosa Lint", on = 2026-05-11 } ]\n'


def catalogue(model: str = "", image: str = "", version: str = "2.03", more: str = GOOD) -> str:
    return (
        'format = "asfound-firmware/1"\n[[model]]\nmap = "marrowby-four"\norder = "dotted"\n'
        f'in_field = ["1.12"]\n{model}[[fitted]]\nserial = "MF-20417"\nhardware = "B"\n'
        f'[[image]]\nmap = "marrowby-four"\nhardware = ["B"]\nversion = "{version}"\n'
        f'file = "m4-203.mfw"\nsize = {len(IMAGE)}\nsha256 = "{SHA}"\n{image}{more}'
    )


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    fleet_home(tmp_path)
    (tmp_path / "firmware").mkdir()
    (tmp_path / "firmware" / "m4-203.mfw").write_bytes(IMAGE)
    (tmp_path / "ca.pem").write_bytes(CA)
    (tmp_path / "maker.pem").write_bytes(LEAF + MID)
    clock = SetClock()
    clock.at = clock.at.replace(year=2027, month=1)
    monkeypatch.setattr(wiring, "clock", lambda: clock)
    return tmp_path


@pytest.fixture
def stick(monkeypatch: pytest.MonkeyPatch) -> MemoryStick:
    made = MemoryStick({"holiday.jpg": b"beach"})
    monkeypatch.setattr(wiring, "stick", lambda path: made)
    monkeypatch.setattr(wiring, "drive_space", lambda path: FakeStick(200 * MIB))
    return made


MINISIGN = f'minisign = "{KEY}"\n'
MINIFILE = 'signature_file = "m4-203.sig"\n'
X509 = 'ca = "ca.pem"\n'
X509FILE = MINIFILE + 'certificate = "maker.pem"\n'


@pytest.mark.parametrize(
    ("model", "image", "signature", "verdict", "note"),
    [
        (MINISIGN, MINIFILE, HASHED, "right", "signed by its maker"),
        (MINISIGN, MINIFILE, OTHER, "wrong-signature", "signed by key DC38"),
        (MINISIGN, MINIFILE, None, "not-signed", "m4-203.sig is not here"),
        (MINISIGN, "", HASHED, "not-signed", "has no signature"),
        (X509, X509FILE, base64.b64decode(SIGNED["leaf"]), "right", "signed by its maker"),
        (X509, X509FILE, base64.b64decode(SIGNED["rsa"]), "wrong-signature", "did not sign"),
    ],
)  # fmt: skip
def test_a_folder_of_signed_images(
    home: Path,
    capsys: Out,
    model: str,
    image: str,
    signature: bytes | None,
    verdict: str,
    note: str,
) -> None:
    (home / "firmware.toml").write_text(catalogue(model, image))
    if signature is not None:
        (home / "firmware" / "m4-203.sig").write_bytes(signature)
    folder = str(home / "firmware")
    code = call(["firmware", "check", folder, "--home", str(home), "--json"])
    files = json.loads(capsys.readouterr().out)["files"]
    one = next(item for item in files if item["file"] == "m4-203.mfw")
    assert one["verdict"] == verdict and note in one["note"]
    # A signature that the catalogue does not name is a stranger like any other file.
    assert code == (0 if verdict == "right" else 1)


@pytest.mark.parametrize(
    ("model", "image", "why"),
    [
        (MINISIGN + X509, "", "keep one of them"),
        ('minisign = "RWabc"\n', "", "is no minisign public key"),
        ('ca = "none.pem"\n', "", "put it beside the catalogue"),
        ('ca = "fleet.toml"\n', "", "is no certificate in PEM"),
        ("", MINIFILE, "has neither minisign nor ca"),
        (X509, MINIFILE, "certificate of who signed is missing"),
        (MINISIGN, X509FILE, "has no ca"),
    ],
)
def test_contradictions_are_faults_by_line(
    home: Path, capsys: Out, model: str, image: str, why: str
) -> None:
    (home / "firmware.toml").write_text(catalogue(model, image))
    assert call(["firmware", "list", "--home", str(home)]) == 11
    assert why in capsys.readouterr().err


def prepare(home: Path, *options: str) -> int:
    to = ("--to", "/media/stick", "--by", "Rosa Lint", "--home", str(home))
    return call(["stick", "prepare", *options, *to])


def test_the_catalogue_chooses_for_a_vehicle(home: Path, stick: MemoryStick, capsys: Out) -> None:
    (home / "firmware.toml").write_text(catalogue(MINISIGN, MINIFILE))
    (home / "firmware" / "m4-203.sig").write_bytes(HASHED)
    assert prepare(home, "--vehicle", "217") == 0
    said = capsys.readouterr().out
    assert "vehicle 217: 1.12 → 2.03, step 1 of 1: m4-203.mfw" in said
    assert "signed by its maker" in said and "prepared: exactly this image" in said
    assert stick.things["SERVICE/LOAD/m4-203.mfw"] == IMAGE
    slip = json.loads(stick.things["asfound-stick/slip.json"] or b"")
    assert slip["sha256"] == SHA and slip["recorder"].endswith(
        ", vehicle 217, 1.12 to 2.03, step 1 of 1"
    )
    assert prepare(home, "--vehicle", "217", "--installed", "2.03") == 2
    assert "no stick is needed" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "code", "why"),
    [
        (catalogue(more=GONE), 2, "no image may be put on"),
        (catalogue(more=""), 2, "no image may be put on"),
        (catalogue().replace('["B"]', '["C"]'), 2, "no image may be put on"),
        (catalogue().replace("MF-20417", "MF-1"), 2, "hardware is not known"),
        (catalogue().replace(SHA, "00" * 32), 9, "wrong-hash"),
        (catalogue(X509, X509FILE), 9, "not-signed"),
        (catalogue().replace("m4-203.mfw", "m4-9.mfw"), 8, "is not there"),
    ],
)  # fmt: skip
def test_what_must_not_be_put_on_is_not(
    home: Path, stick: MemoryStick, capsys: Out, text: str, code: int, why: str
) -> None:
    (home / "firmware.toml").write_text(text)
    assert prepare(home, "--vehicle", "217") == code
    assert why in capsys.readouterr().err and stick.changes == 0


def test_a_file_given_by_hand_is_held_against_the_catalogue(
    home: Path, stick: MemoryStick, capsys: Out
) -> None:
    file, where = str(home / "firmware" / "m4-203.mfw"), ("--map", "marrowby-four")
    (home / "firmware.toml").write_text(catalogue())
    assert prepare(home, file, *where) == 0
    assert "the catalogue knows it: marrowby-four 2.03, hardware B" in capsys.readouterr().out
    (home / "firmware.toml").write_text(catalogue(more=GONE))
    before = stick.changes
    assert prepare(home, file, *where) == 2
    assert "withdrawn on 2026-06-01: hot" in capsys.readouterr().err and stick.changes == before
    (home / "firmware.toml").write_text(catalogue().replace(SHA, "00" * 32))
    assert prepare(home, file, *where) == 1
    assert "unknown-image: the firmware catalogue does not know" in capsys.readouterr().out


def test_image_and_vehicle_are_one_or_the_other(home: Path, capsys: Out) -> None:
    (home / "firmware.toml").write_text(catalogue())
    for options in ((), ("x.mfw", "--vehicle", "217"), ("x.mfw", "--installed", "1.12")):
        assert prepare(home, *options) == 2
        assert capsys.readouterr().err.count("\n") >= 1
