"""The shipped maps: load, hold together, and have the breadth that they promise."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from asfound.model.kinds import Choice, Number, ReadOnly, Text
from asfound.model.menu_map import MenuMap
from asfound.model.values import problem
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

PATHS = shipped_map_paths()
MAPS = {name: load_map(path) for name, path in PATHS.items()}
EVERY_KIND = {
    "choice", "switch", "number", "level", "time", "date", "ipv4", "host", "text", "secret",
    "read-only",
}  # fmt: skip


def raw_fields(path: Path) -> dict[str, dict[str, object]]:
    """Field id -> its TOML table, cameras spelt out, without the product's loader."""
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    found: dict[str, dict[str, object]] = {}
    for page in data["page"]:
        numbers = range(1, data["cameras"] + 1) if page.get("for_each_camera") else [0]
        for number in numbers:
            for field in page["field"]:
                found[field["id"].replace("{n}", str(number))] = field
    return found


@pytest.mark.parametrize(
    ("name", "layout", "cameras", "least"),
    [("quillfen-octad", "flat", 8, 150), ("marrowby-four", "two-level", 4, 80)],
)
def test_size_and_shape(name: str, layout: str, cameras: int, least: int) -> None:
    menu_map = MAPS[name]
    assert (menu_map.keys.layout, menu_map.cameras) == (layout, cameras)
    assert {field.camera for field in menu_map.fields} >= set(range(1, cameras + 1))
    assert len(menu_map.firmware) >= 3
    for version in menu_map.firmware:
        assert len(menu_map.fields_in(version)) >= least


@pytest.mark.parametrize("name", MAPS)
def test_the_loader_finds_what_the_file_says(name: str) -> None:
    raw = raw_fields(PATHS[name])
    assert [field.id for field in MAPS[name].fields] == list(raw)
    assert [field.type.kind for field in MAPS[name].fields] == [row["type"] for row in raw.values()]


@pytest.mark.parametrize("name", MAPS)
def test_every_type_appears(name: str) -> None:
    assert {field.type.kind for field in MAPS[name].fields} == EVERY_KIND


@pytest.mark.parametrize("name", MAPS)
def test_factory_values_are_values(name: str) -> None:
    menu_map = MAPS[name]
    for field in menu_map.fields:
        for version in menu_map.firmware:
            value = menu_map.default(field, version)
            assert value is None or problem(field.type, value) is None, field.id
            if field.settable:
                assert value is not None, field.id


@pytest.mark.parametrize("name", MAPS)
def test_firmware_adds_removes_renames_and_changes_defaults(name: str) -> None:
    fields = MAPS[name].fields
    ids = {field.id for field in fields}
    assert any(field.since for field in fields)
    assert any(field.until for field in fields)
    renamed = [field for field in fields if field.was]
    assert renamed
    assert all(field.was in ids for field in renamed)
    assert any(field.defaults for field in fields)


@pytest.mark.parametrize("name", MAPS)
def test_pages_fit_a_small_monitor(name: str) -> None:
    menu_map = MAPS[name]
    for page in menu_map.pages:
        for version in menu_map.firmware:
            labels = [field.label for field in menu_map.page_fields(page, version)]
            assert 1 <= len(labels) <= 12
            assert len(set(labels)) == len(labels)


def typeable(menu_map: MenuMap) -> set[str]:
    """The characters that the on-screen keyboard can write."""
    keyboard = menu_map.keys.keyboard
    assert keyboard is not None
    caps = {cap for row in keyboard.rows for cap in row}
    letters = {cap for cap in caps if len(cap) == 1}
    upper = {cap.upper() for cap in letters} if "SHIFT" in caps else set()
    return letters | upper | ({" "} if "SPACE" in caps else set())


@pytest.mark.parametrize("name", MAPS)
def test_the_keyboard_can_write_what_texts_may_hold(name: str) -> None:
    menu_map = MAPS[name]
    can = typeable(menu_map)
    for field in menu_map.fields:
        if isinstance(field.type, Text):
            assert set(field.type.alphabet) <= can, field.id
            for version in menu_map.firmware:
                assert set(menu_map.default(field, version) or "") <= can, field.id


def test_the_two_recorders_are_keyed_differently() -> None:
    first, second = (MAPS[name].keys for name in ("quillfen-octad", "marrowby-four"))
    for what in ("layout", "edit", "segments", "save", "value_wrap", "row_wrap", "keyboard", "ok"):
        assert getattr(first, what) != getattr(second, what), what


@pytest.mark.parametrize("name", MAPS)
def test_recording_settings_say_what_they_amount_to(name: str) -> None:
    """Each camera's size, rate and bit rate can be held against a recording: pixels "WxH",
    pictures a second, bits a second."""
    for field in MAPS[name].fields:
        if field.means in ("frame-size", "frame-rate", "bit-rate") and isinstance(
            field.type, Choice
        ):
            for option in field.type.options:
                amount = field.type.amount(option)
                assert amount is not None, (field.id, option)
                parts = amount.split("x")
                assert len(parts) == (2 if field.means == "frame-size" else 1)
                assert all(Decimal(part) > 0 for part in parts)
        if field.means == "bit-rate" and isinstance(field.type, Number):
            assert field.type.unit in ("kbit/s", "Mbit/s")


@pytest.mark.parametrize("name", MAPS)
def test_what_cannot_be_set_is_not_settable(name: str) -> None:
    fields = MAPS[name].fields
    assert {field.type.what for field in fields if isinstance(field.type, ReadOnly)} == {
        "version", "serial", "text", "clock",
    }  # fmt: skip
    assert any(field.means == "clock" for field in fields)
    assert not any(field.settable for field in fields if field.means in ("clock", "firmware"))


@pytest.mark.parametrize("name", MAPS)
def test_wheel_pulses_span_what_tachographs_allow(name: str) -> None:
    """Regulation (EU) 2016/799 Annex IC: k from 4 000 to 25 000 imp/km (figures from memory)."""
    (pulses,) = (field for field in MAPS[name].fields if field.id.endswith(".pulses"))
    assert isinstance(pulses.type, Number)
    assert (pulses.type.minimum, pulses.type.maximum) == (Decimal(4000), Decimal(25000))
