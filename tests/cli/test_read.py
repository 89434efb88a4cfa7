"""`asfound read`: table, JSON, exit codes. The JSON form is DESIGN's asfound-reading/1."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import typer
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from asfound.cli import read
from asfound.demo.photos import Photo, Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TUNING_THEMES
from asfound.errors import ExitCode, NotFound
from asfound.model.menu_map import MenuMap
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

RUNNER = CliRunner()
TEXT, LIST = {"type": "string"}, {"type": "array", "items": {"type": "string"}}
POINT = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
FIELD = {
    "type": "object",
    "required": ["id", "label", "text", "value", "state", "candidates", "box"],
    "properties": {
        "id": TEXT, "label": TEXT, "text": TEXT, "candidates": LIST,
        "value": {"type": ["string", "null"]},
        "state": {"enum": ["sure", "doubt", "unread"]},
        "box": {"anyOf": [
            {"type": "null"}, {"type": "array", "items": POINT, "minItems": 4, "maxItems": 4},
        ]},
    },
}  # fmt: skip
SCHEMA = {
    "type": "object",
    "required": ["format", "photos"],
    "properties": {
        "format": {"const": "asfound-reading/1"},
        "photos": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["file", "page", "seconds", "fields"],
                "properties": {
                    "file": TEXT,
                    "page": {"type": ["string", "null"]},
                    "seconds": {"type": "number", "minimum": 0},
                    "fields": {"type": "array", "items": FIELD},
                },
            },
        },
        "fields": {"type": "array", "items": FIELD},
        "missing_pages": LIST,
        "repeated_pages": LIST,
    },
}


def app() -> typer.Typer:
    made = typer.Typer()
    read.register(made)
    made.command("other")(lambda: None)
    return made


@pytest.fixture(scope="module")
def menu() -> MenuMap:
    return load_map(shipped_map_paths()["marrowby-four"])


@pytest.fixture(scope="module")
def photos(menu: MenuMap, tmp_path_factory: pytest.TempPathFactory) -> list[Photo]:
    folder = tmp_path_factory.mktemp("photos")
    values = random_values(menu, "2.03", np.random.default_rng(9))
    session = Session(TUNING_THEMES[0], seed=9, pages=frozenset({"channel-3", "keeping"}))
    return shoot(menu, values, "2.03", session, folder)


def test_json_of_a_folder(photos: list[Photo], tmp_path: Path) -> None:
    folder = photos[0].path.parent
    arguments = ["read", str(folder), "--map", "marrowby-four", "--firmware", "2.03", "--json"]
    result = RUNNER.invoke(app(), [*arguments, "--blobs", str(tmp_path / "kept")])
    assert result.exit_code == ExitCode.FINDINGS  # most pages are missing
    data = json.loads(result.stdout)
    Draft202012Validator(SCHEMA).validate(data)
    assert [photo["page"] for photo in data["photos"]] == [photo.page_id for photo in photos]
    assert "keeping" not in data["missing_pages"] and "about" in data["missing_pages"]
    for shown, photo in zip(data["photos"], photos, strict=True):
        for field in shown["fields"]:
            if field["state"] == "sure":
                assert field["value"] == photo.truth[field["id"]]
    kept = [path for path in (tmp_path / "kept").rglob("*") if path.is_file()]
    assert len(kept) == len(photos)


def test_table_and_bad_file(photos: list[Photo], tmp_path: Path) -> None:
    bad = tmp_path / "notes.jpg"
    bad.write_text("no picture")
    arguments = ["read", str(bad), str(photos[0].path), "--map", "marrowby-four"]
    result = RUNNER.invoke(app(), arguments)
    assert result.exit_code == ExitCode.BAD_PICTURE
    assert [line for line in result.stderr.splitlines() if "notes.jpg" in line] == [
        line for line in result.stderr.splitlines() if line
    ]
    for text in ("Channel 3", "sure", "still to photograph", "newest"):
        assert text in result.stdout
    assert "Traceback" not in result.output


@pytest.mark.parametrize("name", ["gone.jpg", "empty"])
def test_a_path_without_photographs(name: str, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    result = RUNNER.invoke(app(), ["read", str(tmp_path / name), "--map", "marrowby-four"])
    assert isinstance(result.exception, NotFound)
    assert name in str(result.exception)
