"""`asfound report`, called as a user calls it. Outside check: pypdf opens what was written."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
import typer

from asfound.cli import report
from asfound.cli.home import home_at
from asfound.errors import AsfoundError, NotFound, UsageError
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.ports.backends.clock_system import SystemClock

FLEET = """
format = "asfound-fleet/1"
name = "Brindlemere Haulage & Coaches"
time_zone = "Europe/Lisbon"

[[vehicle]]
number = "217"
plate = "QB 04 XKM"
kind = "bus"
depot = "Depot North"
class = "double deck"
cameras = [{ channel = 1, name = "Road ahead" }, { channel = 2, name = "Front door" }]

[vehicle.recorder]
map = "marrowby-four"
serial = "M4-0031"
firmware = "FIRMWARE"
place = "cabinet"
supply_volts = 24
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    place = home_at(tmp_path)
    firmware = place.menu_map("marrowby-four").firmware[-1]
    (tmp_path / "fleet.toml").write_text(FLEET.replace("FIRMWARE", firmware), encoding="utf-8")
    return tmp_path


@pytest.fixture
def visit(home: Path) -> str:
    place = home_at(home)
    vehicle = place.fleet().vehicle("217")
    request = OpenVisit(
        vehicle, place.fleet().name, place.fleet().time_zone, place.procedure("inspection"),
        place.menu_map("marrowby-four"), "Ada Penhallow",
    )  # fmt: skip
    state = open_visit(request, store=place.store(), blobs=place.blobs(), clock=SystemClock())
    return state.id


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    folder = tmp_path / "work"
    folder.mkdir()
    monkeypatch.chdir(folder)
    monkeypatch.delenv("ASFOUND_STORE", raising=False)
    yield folder


def call(*arguments: str) -> None:
    app = typer.Typer()

    @app.callback()
    def group() -> None:
        """Keeps `report` a command of its own."""

    report.register(app)
    app(["report", *arguments], standalone_mode=False)


def test_the_report_is_written_where_it_was_asked(
    home: Path, visit: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    call(visit, "--home", str(home))
    reader = pypdf.PdfReader(here / f"{visit}.pdf")
    assert reader.metadata is not None
    assert reader.metadata.title == f"Service report, vehicle 217, visit {visit}"
    assert "SHA-256" in capsys.readouterr().out
    call(visit, "-o", str(home / "other.pdf"), "--home", str(home))
    # The same visit, the same bytes; and nothing but the two files was left behind.
    assert (home / "other.pdf").read_bytes() == (here / f"{visit}.pdf").read_bytes()
    assert [path.name for path in here.iterdir()] == [f"{visit}.pdf"]


def test_a_pdf_is_replaced_and_anything_else_left_alone(home: Path, visit: str, here: Path) -> None:
    old = here / "old.pdf"
    old.write_bytes(b"%PDF-1.4 old")
    call(visit, "-o", str(old), "--home", str(home))
    assert len(pypdf.PdfReader(old).pages) >= 1
    photo = here / "photo.jpg"
    photo.write_bytes(b"\xff\xd8\xff\xe0 precious")
    with pytest.raises(UsageError, match="left alone"):
        call(visit, "-o", str(photo), "--home", str(home))
    assert photo.read_bytes() == b"\xff\xd8\xff\xe0 precious"


@pytest.mark.parametrize(
    ("arguments", "error", "words"),
    [
        (["-o", "nowhere/a.pdf"], NotFound, "no such folder"),
        (["-o", "."], UsageError, "is a folder"),
        (["--rekey"], NotFound, "no re-key sheet yet"),
    ],
)
def test_what_cannot_be_done_is_one_line(
    home: Path, visit: str, arguments: list[str], error: type[AsfoundError], words: str
) -> None:
    with pytest.raises(error, match=words) as caught:
        call(visit, *arguments, "--home", str(home))
    assert "\n" not in str(caught.value)


def test_an_unknown_visit_leaves_no_file(home: Path, here: Path) -> None:
    with pytest.raises(NotFound, match="asfound visit list"):
        call("999-1", "--home", str(home))
    assert list(here.iterdir()) == []


def test_a_failed_write_keeps_the_old_file(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old = here / "old.pdf"
    old.write_bytes(b"%PDF-1.4 old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        report.write_whole(old, b"%PDF-1.7 new")
    assert old.read_bytes() == b"%PDF-1.4 old"
    assert [path.name for path in here.iterdir()] == ["old.pdf"]


def test_nothing_but_an_older_file_of_its_kind_is_replaced(here: Path) -> None:
    # A device is no file: renaming one over it takes it away from every other program.
    pipe = here / "pipe"
    os.mkfifo(pipe)
    notes = here / "notes.txt"
    notes.write_text("mine")
    for path in (pipe, notes):
        with pytest.raises(UsageError, match="left alone"):
            report.check_target(path)
        with pytest.raises(UsageError, match="left alone"):
            report.write_page(path, "<!DOCTYPE html><p>new")
    assert pipe.is_fifo() and notes.read_text() == "mine"
    page = here / "sheet.html"
    for text in ("<!DOCTYPE html><p>old", "<!DOCTYPE html><p>new"):
        report.write_page(page, text)
        assert page.read_text() == text
