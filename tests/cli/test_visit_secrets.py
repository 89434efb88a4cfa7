"""`asfound visit hide-secrets` and the question at closing time."""

from __future__ import annotations

import io
import shutil
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.visit_kit import MAP, VALUES, VEHICLE, desk, procedure, reading

from asfound.cli.main import call
from asfound.demo.scenario import FLEET_FILE
from asfound.errors import ExitCode
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.reading import SecretSpot

BOX = ((10.0, 10.0), (50.0, 10.0), (50.0, 20.0), (10.0, 20.0))


class Typed(io.StringIO):
    """A person at a terminal."""

    def isatty(self) -> bool:
        return True


def begun(home: Path, spots: tuple[SecretSpot, ...]) -> tuple[Desk, str]:
    """A visit with one photograph of a page with a password."""
    home.mkdir()
    shutil.copy(FLEET_FILE, home / "fleet.toml")
    at = desk(home, f"sqlite:///{home / 'asfound.db'}")
    request = OpenVisit(VEHICLE, "Brindlemere", "UTC", procedure("inspection"), MAP, "ada")
    visit = open_visit(request, store=at.store, blobs=at.blobs, clock=at.clock).id
    for step in procedure("inspection").steps:
        if step.kind == "read-as-found":
            break
        tick(TickStep(visit, step.id, "ada"), desk=at)
    noise = np.random.default_rng(7).integers(0, 255, (60, 80, 3), dtype=np.uint8)
    done, data = cv2.imencode(".jpg", noise)
    assert done
    name = at.blobs.put(data.tobytes())
    made = reading(VALUES, at)
    photos = (replace(made.photos[0], sha256=name, secrets=spots), *made.photos[1:])
    record_as_found(RecordReading(visit, MAP, replace(made, photos=photos), "ada"), desk=at)
    return at, visit


def ran(home: Path, *words: str) -> int:
    return call(["visit", *words, "--home", str(home)])


def test_it_asks_shows_and_does(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    home = tmp_path / "home"
    at, visit = begun(home, (SecretSpot("general.code", BOX),))
    monkeypatch.setattr("sys.stdin", io.StringIO("y\n"))
    assert ran(home, "hide-secrets", visit, "--by", "ines") == ExitCode.USAGE
    assert "--yes" in capsys.readouterr().err
    monkeypatch.setattr("sys.stdin", Typed("n\n"))
    assert ran(home, "hide-secrets", visit, "--by", "ines") == ExitCode.FINDINGS
    out = capsys.readouterr().out
    assert "general.jpg" in out and "general.code" in out and "nothing was changed" in out
    assert not load_visit(visit, store=at.store, blobs=at.blobs).hidden
    monkeypatch.setattr("sys.stdin", Typed("y\n"))
    assert ran(home, "hide-secrets", visit, "--by", "ines") == ExitCode.OK
    out = capsys.readouterr().out
    assert "1 photograph painted over, 1 original deleted" in out and "phone" in out
    (pair,) = load_visit(visit, store=at.store, blobs=at.blobs).hidden
    assert pair.by == "ines" and pair.removed
    assert ran(home, "hide-secrets", visit, "--by", "ines") == ExitCode.OK
    assert "no stored photograph shows a password" in capsys.readouterr().out
    assert ran(home, "check", visit) == ExitCode.OK


def test_what_could_not_be_placed_is_named_until_whole(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "home"
    _, visit = begun(home, (SecretSpot("general.code", None),))
    assert ran(home, "hide-secrets", visit, "--by", "ines", "--yes") == ExitCode.FINDINGS
    assert "general.jpg: shows general.code, but where could not be told" in capsys.readouterr().out
    assert ran(home, "hide-secrets", visit, "--by", "ines", "--yes", "--whole") == ExitCode.OK


def test_show_says_so_and_closing_asks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    home = tmp_path / "home"
    at, visit = begun(home, (SecretSpot("general.code", BOX),))
    monkeypatch.setattr("sys.stdin", io.StringIO())
    assert ran(home, "show", visit) == ExitCode.OK
    assert f"passwords or codes; asfound visit hide-secrets {visit}" in capsys.readouterr().out
    # Without anybody to ask it is said, and the gate stays shut.
    assert ran(home, "close", visit, "--by", "ines") == ExitCode.GATE_SHUT
    assert "passwords" in capsys.readouterr().out
    assert not load_visit(visit, store=at.store, blobs=at.blobs).hidden
    monkeypatch.setattr("sys.stdin", Typed("y\n"))
    assert ran(home, "close", visit, "--by", "ines") == ExitCode.GATE_SHUT  # other gates
    told = capsys.readouterr()
    assert "1 original deleted" in told.out and "passwords" not in told.err
    assert load_visit(visit, store=at.store, blobs=at.blobs).hidden
