"""`asfound read --settle FILE`: answers in the reading's JSON, who gave them, and taken over."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import typer
from PIL import Image, ImageDraw
from tests.visit_kit import MAP, SetClock
from typer.testing import CliRunner

from asfound.cli import read
from asfound.cli.read import reading_json
from asfound.cli.read_settle import FileKeeper, earlier
from asfound.cli.settings_file import load_reading
from asfound.demo.photos import Photo, Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TUNING_THEMES
from asfound.errors import ExitCode, InputError, StorageError, UsageError
from asfound.model.menu_map import MenuMap
from asfound.model.reading import FieldReading, Reading, State
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

RUNNER = CliRunner()
FIELDS = (
    FieldReading("general.name", "Name", "A8", "AB", State.DOUBT, ("AB", "BA"), reason="faint"),
    FieldReading("camera-1.record", "Record", "On", "on", State.SURE, ("on",)),
)
READING = Reading(MAP.id, "1.0", (), FIELDS, ())


def keeper(path: Path) -> FileKeeper:
    return FileKeeper(path, reading_json(READING, MAP), "ada", SetClock())


def fields(path: Path) -> dict[str, dict[str, Any]]:
    return {one["id"]: one for one in json.loads(path.read_text())["fields"]}


def test_each_answer_is_in_the_file_and_can_be_taken_back(tmp_path: Path) -> None:
    path = tmp_path / "reading.json"
    made = keeper(path)
    made.start()
    plain = json.loads(path.read_text())
    assert plain == reading_json(READING, MAP)
    made.keep("general.name", "BA")
    name = fields(path)["general.name"]
    assert (name["value"], name["state"], name["candidates"]) == ("BA", "sure", ["AB", "BA"])
    assert name["settled"] == {
        "by": "ada", "at": "2026-11-25T20:00:01+00:00", "was": {"value": "AB", "state": "doubt"},
    }  # fmt: skip
    assert "settled" not in fields(path)["camera-1.record"]
    # What reads such a file elsewhere takes the settled value for certain.
    assert load_reading(path, MAP, "1.0").sure_values()["general.name"] == "BA"
    made.take_back("general.name")
    assert json.loads(path.read_text()) == plain


def test_answers_stand_where_the_field_reads_as_before(tmp_path: Path) -> None:
    path = tmp_path / "reading.json"
    keeper(path).keep("general.name", "BA")
    plain = reading_json(READING, MAP)
    stand = {"value": "BA", "by": "ada", "at": "2026-11-25T20:00:01+00:00"}
    assert earlier(path, plain, MAP) == {"general.name": stand}
    assert earlier(tmp_path / "none.json", plain, MAP) == {}
    other = replace(READING, fields=(replace(FIELDS[0], text="A?"), FIELDS[1]))
    assert earlier(path, reading_json(other, MAP), MAP) == {}
    text = path.read_text().replace('"BA"', '"XXXXXXXXX"')
    path.write_text(text)
    assert earlier(path, plain, MAP) == {}


@pytest.mark.parametrize(
    "text",
    ["", "no json", "[]", "{}", '{"format": "asfound-reading/1", "map": "other"}', "[" * 9999],
)
def test_another_file_is_left_alone(tmp_path: Path, text: str) -> None:
    path = tmp_path / "notes.json"
    path.write_text(text)
    with pytest.raises(InputError, match="left alone"):
        earlier(path, reading_json(READING, MAP), MAP)
    assert path.read_text() == text
    with pytest.raises(StorageError):
        keeper(tmp_path / "none" / "reading.json").start()


@pytest.fixture(scope="module")
def menu() -> MenuMap:
    return load_map(shipped_map_paths()["marrowby-four"])


@pytest.fixture(scope="module")
def photo(menu: MenuMap, tmp_path_factory: pytest.TempPathFactory) -> Photo:
    """One page, with something opaque over one value."""
    values = random_values(menu, "2.03", np.random.default_rng(9))
    session = Session(TUNING_THEMES[0], seed=9, pages=frozenset({"keeping"}), size=(1632, 1224))
    made = shoot(menu, values, "2.03", session, tmp_path_factory.mktemp("photos"))[0]
    with Image.open(made.path) as image:
        exif, picture = image.info.get("exif", b""), image.convert("RGB")
    ImageDraw.Draw(picture).polygon(made.boxes["keeping.days"], (90, 80, 70), (90, 80, 70), 9)
    picture.save(made.path, quality=92, exif=exif)
    return made


def app() -> typer.Typer:
    made = typer.Typer()
    read.register(made)
    made.command("other")(lambda: None)
    return made


def test_keys_from_a_pipe(menu: MenuMap, photo: Photo, tmp_path: Path) -> None:
    path = tmp_path / "reading.json"
    arguments = ["read", str(photo.path), "--map", "marrowby-four", "--firmware", "2.03"]
    settle = ["--settle", str(path), "--by", "ada"]
    truth = photo.truth["keeping.days"]
    asked = RUNNER.invoke(app(), [*arguments, *settle], input="t\n9999\n" + truth + "\n")
    assert asked.exit_code == ExitCode.FINDINGS, asked.output
    assert "is outside" in asked.output and "picture: " in asked.output
    assert "(each with Enter)" in asked.output
    kept = fields(path)["keeping.days"]
    assert kept["value"] == truth and kept["settled"]["by"] == "ada"
    # The same photographs again: the answer stands, and is not asked for.
    again = RUNNER.invoke(app(), [*arguments, *settle], input="")
    assert "1 answer of" in again.output and "[keeping.days]" not in again.output
    assert fields(path)["keeping.days"]["value"] == truth


@pytest.mark.parametrize(
    ("more", "says"), [(["--json", "--by", "ada"], "leave --json out"), ([], "--by NAME")]
)
def test_how_it_is_called_is_checked_before_anything_is_read(
    photo: Photo, tmp_path: Path, more: list[str], says: str
) -> None:
    path = tmp_path / "reading.json"
    arguments = ["read", str(photo.path), "--map", "marrowby-four", "--settle", str(path), *more]
    result = RUNNER.invoke(app(), arguments, env={"ASFOUND_BY": ""})
    assert isinstance(result.exception, UsageError) and says in str(result.exception)
    assert not path.exists()
