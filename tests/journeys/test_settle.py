"""Doubts settled at the keyboard, in a pseudo-terminal: keys, undo, a killed process, Ctrl-C."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image, ImageDraw, ImageFont
from tests.cli.test_visit import FLEET, TINBROOK
from tests.terminal import Terminal
from tests.visit_kit import MAP, VALUES, opened, reading

from asfound.errors import ExitCode
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.reading import Box, FieldReading, Reading
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.store_sql import SqlStore

DOUBTS = {"general.name": ("AB", "BA"), "general.code": ("set",), "camera-1.size": ("HD", "CIF")}
BOX: Box = ((200.0, 40.0), (280.0, 40.0), (280.0, 70.0), (200.0, 70.0))
SECRET: Box = ((200.0, 90.0), (280.0, 90.0), (280.0, 120.0), (200.0, 120.0))
RED = (200, 0, 0)


def drawn() -> bytes:
    """A screen with one value at BOX, and a red block where the secret stands."""
    picture = Image.new("RGB", (400, 160), (20, 24, 40))
    pen = ImageDraw.Draw(picture)
    pen.text((204, 42), "AB", fill=(230, 230, 230), font=ImageFont.load_default(24))
    pen.rectangle([200, 90, 280, 120], fill=RED)
    out = io.BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


def with_pictures(made: Reading, desk: Desk) -> Reading:
    photo = desk.blobs.put(drawn())

    def placed(field: FieldReading) -> FieldReading:
        box = SECRET if field.id == "general.code" else BOX
        return replace(field, photo=photo, box=box)

    fields = tuple(placed(field) for field in made.fields)
    photos = tuple(
        replace(one, sha256=photo, fields=tuple(placed(field) for field in one.fields))
        for one in made.photos
    )
    return replace(made, fields=fields, photos=photos)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    store = SqlStore(f"sqlite:///{tmp_path / 'asfound.db'}")
    return Desk(store, FileBlobs(tmp_path / "blobs"), SystemClock())


@pytest.fixture
def visit(desk: Desk, tmp_path: Path) -> str:
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "tinbrook-two.toml").write_text(TINBROOK, encoding="utf-8")
    (tmp_path / "fleet.toml").write_text(FLEET, encoding="utf-8")
    name = opened(desk).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(name, step, "ada"), desk=desk)
    known = {key: value for key, value in VALUES.items() if key not in DOUBTS}
    made = with_pictures(reading(known, desk, doubts=DOUBTS), desk)
    record_as_found(RecordReading(name, MAP, made, "ada"), desk=desk)
    return name


@pytest.fixture
def sit(visit: str, tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    """Starts `asfound visit settle` in a terminal; what still runs at the end is ended."""
    started: list[Terminal] = []

    def begin(**environ: str) -> Terminal:
        arguments = ["visit", "settle", visit, "--by", "bo", "--home", str(tmp_path)]
        clean = {"NO_COLOR": "", "COLORTERM": "", "TERM": "xterm-256color"}
        started.append(Terminal(arguments, clean | environ))
        return started[-1]

    yield begin
    for one in started:
        one.close()


def settled(desk: Desk, visit: str) -> dict[str, tuple[str, str]]:
    state = load_visit(visit, store=desk.store, blobs=desk.blobs)
    return {item.id: (item.value, item.by) for item in state.settled}


def test_one_key_an_answer_with_undo_and_typing(
    desk: Desk, visit: str, sit: Callable[..., Terminal]
) -> None:
    at = sit(COLORTERM="truecolor")
    seen = at.until("q stop")
    for text in ("1 of 3", "page 1 of 3, General", "Name  [general.name]", "in doubt: blurred"):
        assert text in seen
    assert "1  AB" in seen and "2  BA" in seen
    assert "▀" in seen and "\x1b[38;2;" in at.raw
    at.press("2")
    seen = at.until("q stop")
    assert "Name: BA" in seen and "Code  [general.code]" in seen
    # An answer is in the journal before the next question is there.
    assert settled(desk, visit) == {"general.name": ("BA", "bo")}
    # The picture of a secret is not shown: no red block, not even on demand.
    assert "is not shown" in seen and "▀" not in seen
    at.press("p")
    assert "picture of a password or code is not shown" in at.until("q stop")
    at.press("u")
    assert "Name is asked again" in at.until("q stop")
    assert settled(desk, visit) == {}
    at.press("t")
    at.until("value (empty: back): ")
    at.press("ABC\n")
    assert "does not take: 'C'" in at.until("value (empty: back): ")
    at.press(" BB \n")
    assert "Name: BB" in at.until("q stop")
    at.press("\r")
    assert "press a number" in at.until("q")
    at.press("t")
    at.until("never the password itself")
    at.press("hunter2\n")
    at.until("only set or blank is kept")
    at.until("(empty: back): ")
    at.press("\n")
    at.until("q stop")
    at.press("1")
    seen = at.until("q stop")
    assert "Size  [camera-1.size]" in seen
    at.press("b")
    assert "not blank: '' is not one of" in at.until("'HD'")
    at.press("1")
    at.until("all are answered; u undo, any other key: done")
    at.press("x")
    assert at.ended() == ExitCode.OK
    assert "3 values settled by bo, 0 left" in at.rest() and "next: Load the new" in at.rest()
    assert settled(desk, visit) == {
        "general.name": ("BB", "bo"), "general.code": ("set", "bo"), "camera-1.size": ("HD", "bo"),
    }  # fmt: skip
    state = load_visit(visit, store=desk.store, blobs=desk.blobs)
    assert state.is_done("settle")
    assert check_visit(visit, store=desk.store, blobs=desk.blobs).faults == ()
    # What was typed at a secret is in no entry of the journal.
    kept = [entry.data for entry in desk.store.entries(visit)]
    assert "hunter2" not in repr(kept) and {"field": "general.name", "round": None} in kept


def test_a_killed_session_keeps_what_was_answered(
    desk: Desk, visit: str, sit: Callable[..., Terminal]
) -> None:
    at = sit()
    assert "▀" in at.until("q stop")  # quarters of cells, without colours
    assert "\x1b[38;2;" not in at.raw
    at.press("1")
    at.until("2 of 3")
    at.kill()
    assert settled(desk, visit) == {"general.name": ("AB", "bo")}
    at = sit()
    assert "1 of 2" in at.until("q stop")
    at.press("s")
    at.until("q stop")
    at.press("2")
    assert "1 skipped; u undo" in at.until("any other key: done")
    at.press("\x03")
    assert at.ended() == ExitCode.INTERRUPTED
    assert "stopped; what was finished is kept" in at.rest()
    assert settled(desk, visit) == {"general.name": ("AB", "bo"), "camera-1.size": ("CIF", "bo")}
    assert not load_visit(visit, store=desk.store, blobs=desk.blobs).is_done("settle")
