"""`asfound map`: check, list, show, schema."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from asfound.cli import map as command
from asfound.errors import InputError, MapError, NotFound
from asfound.ports.backends.map_toml import SHIPPED, map_schema

RUNNER = CliRunner()


def app() -> typer.Typer:
    made = typer.Typer()
    command.register(made)
    return made


def said(*arguments: str) -> str:
    result = RUNNER.invoke(app(), ["map", *arguments], catch_exceptions=False)
    assert result.exit_code == 0
    return result.output


def test_check_counts_what_is_there() -> None:
    text = said("check", "quillfen-octad")
    assert text.startswith("OK: quillfen-octad: 3 firmware versions, 22 pages, 228 fields")


def test_check_tells_of_settings_without_factory_value(tmp_path: Path) -> None:
    text = (SHIPPED / "marrowby-four.toml").read_text("utf-8")
    path = tmp_path / "own.toml"
    path.write_text(text.replace('default = "720 lines"\n', ""), "utf-8")
    assert "factory value of 4 settings" in said("check", str(path))


def test_check_tells_which_settled_values_a_draft_lacks(tmp_path: Path) -> None:
    text = (SHIPPED / "marrowby-four.toml").read_text("utf-8")
    row = 'id = "channel-{n}.raster"\n'
    assert text.count(row) == 1
    path = tmp_path / "own.toml"
    path.write_text(text.replace(row, row + 'drafted = ["options"]\n'), "utf-8")
    reading = tmp_path / "reading.json"
    fields = [
        {"id": "channel-1.raster", "value": "240 lines", "state": "sure",
         "settled": {"by": "ada", "at": "2026-11-25T20:00:01+00:00",
                     "was": {"value": None, "state": "unread"}}},
        {"id": "channel-2.raster", "value": "240 lines", "state": "sure"},
        {"id": "channel-3.raster", "value": "720 lines", "state": "sure"},
        # A doubt's value is what was seen: neither refused nor taken.
        {"id": "channel-4.raster", "value": "36O lines", "state": "doubt"},
    ]  # fmt: skip
    reading.write_text(
        json.dumps({"format": "asfound-reading/1", "map": "marrowby-four", "fields": fields})
    )
    told = said("check", str(path), "--settled", str(reading))
    want = f"'240 lines' is settled in {reading} and not in the map yet; add it to channel-{{n}}.r"
    assert want in told and told.count("settled in") == 1
    # A map that is no draft says no to such a reading.
    with pytest.raises(InputError, match="'240 lines' is not one of"):
        said("check", "marrowby-four", "--settled", str(reading))


@pytest.mark.parametrize("other", ["HD 72O", "hd 720", "HD720", "H0 720"])
def test_check_warns_of_options_that_look_alike(tmp_path: Path, other: str) -> None:
    text = (SHIPPED / "quillfen-octad.toml").read_text("utf-8")
    found = re.search(r'^options = \["([^"]+)", "([^"]+)"', text, re.M)
    assert found is not None and "look-alike" not in said("check", "quillfen-octad")
    path = tmp_path / "own.toml"
    twins = f'options = ["HD 720", "{other}", "{found[1]}", "{found[2]}"'
    path.write_text(text.replace(found[0], twins, 1), "utf-8")
    told = said("check", str(path))
    assert f"'HD 720' and {other!r} differ by letter case or look-alike characters alone" in told
    assert told.startswith("OK")


def test_options_that_only_a_reader_without_glasses_mixes_up_are_fine(tmp_path: Path) -> None:
    text = (SHIPPED / "quillfen-octad.toml").read_text("utf-8")
    found = re.search(r'^options = \["([^"]+)", "([^"]+)"', text, re.M)
    assert found is not None
    path = tmp_path / "own.toml"
    near = f'options = ["HD 720", "HD 780", "HD 72", "{found[1]}", "{found[2]}"'
    path.write_text(text.replace(found[0], near, 1), "utf-8")
    assert "look-alike" not in said("check", str(path))


def test_faults_are_raised_with_file_and_line(tmp_path: Path) -> None:
    text = (SHIPPED / "marrowby-four.toml").read_text("utf-8")
    path = tmp_path / "own.toml"
    path.write_text(text.replace('default = "720 lines"', 'default = "721 lines"'), "utf-8")
    with pytest.raises(MapError, match=rf"own\.toml:{_line(text, 'default = .720 lines')}: "):
        said("check", str(path))
    with pytest.raises(NotFound):
        said("show", str(tmp_path / "none.toml"))


def _line(text: str, start: str) -> int:
    stem = start.replace(".", '"')
    return next(n for n, line in enumerate(text.splitlines(), 1) if line.startswith(stem))


def test_list_names_both_recorders() -> None:
    text = said("list")
    assert "quillfen-octad" in text and "marrowby-four" in text


def test_show_gives_every_field_of_a_version() -> None:
    text = said("show", "marrowby-four", "--firmware", "1.08")
    assert "channel-1.raster" in text and "95 fields" in text
    assert "about.keeper" not in text  # came with a later version
    with pytest.raises(NotFound):
        said("show", "marrowby-four", "--firmware", "9")


def test_schema_is_the_published_one() -> None:
    text = said("schema")
    assert text == map_schema()
    assert json.loads(text)["title"] == "asfound menu map"
