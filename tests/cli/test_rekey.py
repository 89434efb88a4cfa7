"""`asfound rekey` and `asfound compare`: table, JSON, page, exit codes, and what they take."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner

from asfound.cli import compare, rekey
from asfound.cli.settings_file import load_reading
from asfound.errors import (
    AsfoundError,
    ExitCode,
    InputError,
    NotFound,
    StorageError,
    UsageError,
)
from asfound.model.reading import Reading, State
from asfound.model.rekey import RekeySheet
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.documents import from_data, to_data

RUNNER = CliRunner()
OCTAD = load_map(shipped_map_paths()["quillfen-octad"])
VALUES = {
    "unit.vehicle": "BH 214",
    "unit.menu-code": "set",
    "camera-1.size": "HD 1080",
    "camera-2.name": "Rear door",
}
SETTINGS = ("--map", "quillfen-octad", "--firmware", "4.0.2")


def app() -> typer.Typer:
    made = typer.Typer()
    rekey.register(made)
    compare.register(made)
    return made


def written(path: Path, data: object) -> str:
    path.write_text(json.dumps(data), "utf-8")
    return str(path)


def run(*arguments: str, code: int = 0) -> str:
    result = RUNNER.invoke(app(), arguments, catch_exceptions=False)
    assert result.exit_code == code, result.output
    return result.output


def seen(name: str, value: str | None, state: str, *candidates: str) -> dict[str, Any]:
    return {"id": name, "value": value, "state": state, "candidates": list(candidates)}


def reading(*photos: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    pages = [{"file": f"{n}.jpg", "page": None, "fields": rows} for n, rows in enumerate(photos)]
    return {"format": "asfound-reading/1", "photos": pages, **more}


def test_the_table_names_pages_fields_keys_and_presses(tmp_path: Path) -> None:
    text = run("rekey", *SETTINGS, "--target", written(tmp_path / "t.json", VALUES))
    assert "Re-key sheet: Quillfen Octad, firmware 4.0.2" in text
    assert "HD 720 → HD 1080" in text and "Down ×2, +" in text
    assert "type it on the on-screen keyboard" in text
    assert "by hand: key in what its owner chose" in text
    assert "4 settings, 1 of them by hand" in text
    assert "set at the vehicle" in text and "nobody says" in text


def test_json_is_the_sheet_itself(tmp_path: Path) -> None:
    target = written(tmp_path / "t.json", VALUES)
    data = json.loads(run("rekey", *SETTINGS, "--target", target, "--json"))
    sheet = from_data(RekeySheet, data)
    assert [row.id for page in sheet.pages for row in page.fields] == [
        "unit.vehicle",
        "unit.menu-code",
        "camera-1.size",
        "camera-2.name",
    ]
    assert sheet.presses == sum(page.presses for page in sheet.pages)


def test_the_page_is_written(tmp_path: Path) -> None:
    target = written(tmp_path / "t.json", VALUES)
    page = tmp_path / "sheet.html"
    run("rekey", *SETTINGS, "--target", target, "--html", str(page))
    assert "<!DOCTYPE html>" in page.read_text("utf-8")
    with pytest.raises(StorageError, match="no such folder"):
        run("rekey", *SETTINGS, "--target", target, "--html", str(tmp_path / "no" / "x.html"))


def test_values_of_older_firmware_are_carried_over(tmp_path: Path) -> None:
    target = written(tmp_path / "t.json", {"camera-1.record": "off"})
    text = run("rekey", *SETTINGS, "--target", target, "--from-firmware", "3.2.0")
    assert "renamed" in text and "power.heater -> power.heat-below" in text
    assert "new in this firmware" in text


def test_nothing_to_key_in(tmp_path: Path) -> None:
    text = run("rekey", *SETTINGS, "--target", written(tmp_path / "t.json", {}))
    assert "nothing to key in" in text


def test_compare_ends_with_one_when_something_is_left(tmp_path: Path) -> None:
    target = written(tmp_path / "t.json", VALUES)
    left = written(tmp_path / "l.json", VALUES | {"camera-1.size": "HD 720"})
    text = run("compare", *SETTINGS, "--target", target, "--as-left", left, code=1)
    assert "missed" in text and "camera-1.size" in text and "1 left to do" in text
    same = run("compare", *SETTINGS, "--target", target, "--as-left", target)
    assert "nothing left to do" in same
    call = ("compare", *SETTINGS, "--target", target, "--as-left", left, "--json")
    data = json.loads(run(*call, code=int(ExitCode.FINDINGS)))
    assert data["counts"]["missed"] == 1 and data["counts"]["same"] == 3
    assert sum(data["counts"].values()) == len(data["fields"]) == 218


def test_a_reading_is_a_target_by_its_certain_values_only(tmp_path: Path) -> None:
    rows = [
        seen("camera-1.size", "HD 1080", "sure"),
        seen("camera-1.rate", "25", "doubt", "25", "26"),
        seen("unit.serial", "Q7-1", "sure"),
    ]
    target = written(tmp_path / "r.json", reading(rows))
    data = json.loads(run("rekey", *SETTINGS, "--target", target, "--json"))
    assert [row["id"] for page in data["pages"] for row in page["fields"]] == ["camera-1.size"]
    assert "camera-1.rate" in data["unknown"]


def test_photographs_that_contradict_each_other_are_a_doubt(tmp_path: Path) -> None:
    first = [
        seen("camera-1.size", "HD 1080", "sure"),
        seen("camera-1.rate", "25", "sure"),
        seen("camera-1.bit-rate", "2048", "sure"),
        seen("camera-1.sound", None, "unread"),
    ]
    second = [
        seen("camera-1.size", "HD 720", "sure"),
        seen("camera-1.rate", None, "doubt", "25", "26"),
        seen("camera-1.bit-rate", None, "doubt", "1024"),
    ]
    path = tmp_path / "r.json"
    written(path, reading(first, second))
    made = load_reading(path, OCTAD, "4.0.2")
    states = {field.id: (field.state, field.value) for field in made.fields}
    assert states["camera-1.size"] == (State.DOUBT, None)
    assert states["camera-1.rate"] == (State.SURE, "25")
    assert states["camera-1.bit-rate"] == (State.DOUBT, None)
    assert states["camera-1.sound"] == (State.UNREAD, None)
    assert "camera-2" in made.missing_pages and "camera-1" not in made.missing_pages


def test_what_the_reader_has_laid_together_is_taken_as_it_is(tmp_path: Path) -> None:
    photos = [seen("camera-1.rate", "24", "sure")]
    whole = reading(photos, fields=[seen("camera-1.rate", "25", "sure")], map=OCTAD.id)
    path = tmp_path / "r.json"
    written(path, whole)
    assert load_reading(path, OCTAD, "4.0.2").sure_values() == {"camera-1.rate": "25"}


def test_a_whole_reading_document_is_taken_too(tmp_path: Path) -> None:
    path = tmp_path / "r.json"
    document = Reading(OCTAD.id, "4.0.2", (), (), ())
    written(path, to_data(document))
    assert load_reading(path, OCTAD, "4.0.2") == document


@pytest.mark.parametrize(
    ("data", "wrong"),
    [
        ("{", InputError),
        ("[1]", InputError),
        ("5", InputError),
        ('{"camera-1.rate": 25}', InputError),
        ('{"camera-1.rate": "26"}', InputError),
        ('{"camera-9.rate": "25"}', NotFound),
        ('{"format": "asfound-reading/1", "photos": [{"fields": [{"id": 1}]}]}', InputError),
        ('{"photos": [], "map": "other"}', InputError),
        ('{"photos": [], "firmware": "3.2.0"}', UsageError),
        ('{"photos": [], "fields": [{"id": "camera-1.rate", "value": "x", "state": "sure"}]}',
         InputError),
        ("[" * 100_000, InputError),
    ],
)  # fmt: skip
def test_settings_that_cannot_be_are_one_line(
    tmp_path: Path, data: str, wrong: type[AsfoundError]
) -> None:
    path = tmp_path / "t.json"
    path.write_text(data, "utf-8")
    with pytest.raises(wrong) as caught:
        run("rekey", *SETTINGS, "--target", str(path))
    assert "\n" not in str(caught.value) and ";" in str(caught.value)


def test_files_that_are_not_there_or_not_text(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no such file"):
        run("rekey", *SETTINGS, "--target", str(tmp_path / "none.json"))
    with pytest.raises(StorageError, match="cannot be read"):
        run("rekey", *SETTINGS, "--target", str(tmp_path))
    (tmp_path / "x.json").write_bytes(b"\xff\xfe")
    with pytest.raises(InputError, match="UTF-8"):
        run("rekey", *SETTINGS, "--target", str(tmp_path / "x.json"))


def test_firmware_the_map_does_not_know(tmp_path: Path) -> None:
    target = written(tmp_path / "t.json", VALUES)
    with pytest.raises(NotFound, match=r"4\.0\.2"):
        run("rekey", "--map", "quillfen-octad", "--firmware", "9", "--target", target)


def test_a_device_or_a_huge_file_is_refused_at_once(tmp_path: Path) -> None:
    # POSIX: /dev/zero never ends, and a sparse file has a size without using the disk.
    menu_map = load_map(shipped_map_paths()["marrowby-four"])
    huge = tmp_path / "huge.json"
    with huge.open("wb") as file:
        file.truncate(1 << 40)
    for path, says in ((Path("/dev/zero"), "not a file"), (huge, "larger than")):
        with pytest.raises(InputError, match=says):
            load_reading(path, menu_map, "2.03")
