"""Menu maps: the shipped ones are sound, and every kind of fault is told on its line."""

from __future__ import annotations

import json
import re
import tomllib
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest

from asfound.errors import MapError
from asfound.model.kinds import Choice, Number, Text
from asfound.model.menu_map import FirmwarePlace
from asfound.model.values import problem
from asfound.ports.backends.map_toml import load_map, map_schema, shipped_map_paths

DOCS = Path(__file__).parents[2] / "docs"

GOOD = """\
format = "asfound-map/1"
id = "small"
maker = "Small"
model = "One"
cameras = 2
firmware = ["1.0", "2.0"]

[keys]
layout = "flat"
up = "Up"
down = "Down"
left = "Left"
right = "Right"
ok = "OK"
back = "Back"
minus = "-"
plus = "+"
next_page = "Next"
previous_page = "Previous"
next_part = "Right"
previous_part = "Left"

[keys.keyboard]
rows = [["a", "b", "1"], ["SPACE", "SHIFT", "DELETE", "DONE"]]

[[page]]
id = "main"
title = "Main"

[[page.field]]
id = "main.mode"
label = "Mode"
type = "choice"
options = ["Day", "Night"]
default = "Day"

[[page.field]]
id = "main.limit"
label = "Limit"
type = "number"
minimum = 0.5
maximum = 2.5
step = 0.5
decimals = 1
words = ["Off"]
default = "Off"
defaults = { "2.0" = "1.5" }

[[page]]
id = "view-{n}"
title = "View {n}"
for_each_camera = true

[[page.field]]
id = "view-{n}.name"
label = "Name"
type = "text"
alphabet = "ABab1 "
default = "ab 1"
"""


def faults(tmp_path: Path, text: str) -> list[str]:
    path = tmp_path / "m.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(MapError) as caught:
        load_map(path)
    lines = str(caught.value).replace(f"{path}:", "").splitlines()
    return lines[1:] if lines[0].endswith(" faults") else lines


def test_a_small_map_loads_whole(tmp_path: Path) -> None:
    path = tmp_path / "m.toml"
    path.write_text(GOOD, "utf-8")
    menu_map = load_map(path)
    assert [page.title for page in menu_map.pages] == ["Main", "View 1", "View 2"]
    assert menu_map.field("view-2.name").camera == 2
    assert menu_map.field("main.mode").type == Choice(("Day", "Night"))
    limit = menu_map.field("main.limit")
    half = Decimal("0.5")
    assert limit.type == Number(half, Decimal("2.5"), half, 1, "", ("Off",))
    assert menu_map.default(limit, "2.0") == "1.5"
    assert isinstance(menu_map.field("view-1.name").type, Text)


# (what to replace, by what, line that is told, part of what is told)
FAULTS = [
    ('id = "main.limit"', 'id = "main.mode"', 38, "already used in line 31"),
    ('id = "view-{n}"', 'id = "main"', 50, "put {n} into the id"),
    ('id = "view-{n}.name"', 'id = "name"', 55, "put {n} into the id"),
    ('id = "main"', 'id = "main-{n}"', 27, "needs for_each_camera"),
    ('id = "small"', 'id = "small-{n}"', 2, "no meaning here"),
    ('id = "main.mode"', 'id = "Main.mode"', 31, "is no id"),
    ('label = "Mode"', 'label = "Mode "', 32, "blanks around"),
    ('default = "Day"', 'default = "Dusk"', 35, "not one of 'Day', 'Night'"),
    ('default = "Off"', "default = 1.5", 46, "text in quotes"),
    ('"2.0" = "1.5"', '"2.0" = "9.5"', 47, "outside 0.5 to 2.5"),
    ('"2.0" = "1.5"', '"3.0" = "1.5"', 47, "not known"),
    ('default = "Day"', 'default = "Day"\nsince = "3"', 36, "firmware '3' is not known"),
    ('default = "Day"', 'since = "2.0"\nuntil = "2.0"', 36, "not after since"),
    ('default = "Day"', 'default = "Day"\nwas = "main.old"', 36, "there is no field"),
    ('default = "Day"', 'default = "Day"\nwas = "main.limit"', 36, "add since"),
    ('default = "Day"', 'since = "2.0"\nwas = "main.limit"', 36, "still there"),
    ('"1.0", "2.0"', '"1.0", "1.0"', 6, "stands twice"),
    ('["Day", "Night"]', '["Day", "Day"]', 34, "stands twice"),
    ('default = "Day"', 'amounts = { "Dusk" = "1" }', 35, "not one of the options"),
    ('default = "Day"', 'amounts = {Day = "big"}\nmeans = "frame-size"', 35, "1920x1080"),
    ("minimum = 0.5", "minimum = 3.5", 41, "above maximum"),
    ("step = 0.5", "step = 0", 43, "not above 0"),
    ("step = 0.5", "step = -1", 43, "not above 0"),
    ("step = 0.5", "step = 0.3", 42, "is not reached"),
    ("step = 0.5", "step = 0.25", 43, "more than 1 decimals"),
    ("maximum = 2.5", "maximum = 99999.5", 43, "steps from minimum to maximum"),
    ('words = ["Off"]', 'words = ["Off", "1.0"]', 45, "reads as a number"),
    ('words = ["Off"]', 'words = ["Off", "Off"]', 45, "stands twice"),
    ('words = ["Off"]', 'means = "bit-rate"', 37, "kbit/s or Mbit/s"),
    ('title = "Main"', 'title = "Main"\ngroup = "G"', 29, "no groups"),
    ('layout = "flat"', 'layout = "two-level"', 26, "needs the page's group"),
    ('next_page = "Next"', "", 8, "this menu needs the key"),
    ('minus = "-"', 'minus = "Up"', 16, "'Up' is also up on a page"),
    ('plus = "+"', 'plus = "+"\ncoarse = 10', 8, "this menu needs the key"),
    ('plus = "+"', 'plus = "+"\nplus_coarse = "++"', 8, "how many steps"),
    ('"DELETE", "DONE"]', '"DELETE"]', 24, "no DONE cap"),
    ('"DELETE", "DONE"]', '"DONE"]', 24, "takes text away"),
    ('"a", "b", "1"', '"a", "b"', 24, "no cap types '1'"),
    ('"SHIFT", ', "", 24, "no cap types 'AB'"),
    ('"a", "b", "1"', '"a", "b", "b", "1"', 24, "stands 2 times"),
    ('"a", "b", "1"', '"a", "b", "1", "ENTER"', 24, "neither one character"),
    ('"a", "b", "1"', '"a", "b", "1", " "', 24, "write SPACE"),
    ('"DONE"]]', '"DONE"]]\nstart = [2, 0]', 25, "no cap at row 2"),
    ('type = "text"', 'type = "text"\ncamera = 1', 58, "already says which camera"),
    ('type = "choice"', 'type = "choice"\ncamera = 3', 34, "has 2 cameras"),
    ('type = "choice"', 'type = "picklist"', 30, "is not known; use 'choice'"),
    ('alphabet = "ABab1 "', 'alphabet = "ab"', 59, "characters the recorder does not take"),
    ('format = "asfound-map/1"', 'format = "asfound-map/9"', 1, "asfound-map/1"),
]


@pytest.mark.parametrize(("old", "new", "line", "told"), FAULTS)
def test_each_fault_is_told_on_its_line(
    tmp_path: Path, old: str, new: str, line: int, told: str
) -> None:
    assert old in GOOD
    text = GOOD.replace(old, new, 1)
    found = [item for item in faults(tmp_path, text) if told in item]
    assert found, faults(tmp_path, text)
    assert found[0].startswith(f"{line}: ")
    assert ";" in found[0]


def test_what_is_wrong_for_each_camera_is_told_once(tmp_path: Path) -> None:
    text = GOOD.replace('alphabet = "ABab1 "', 'alphabet = "ab"').replace("ab 1", "cam {n}")
    assert len(faults(tmp_path, text)) == 1


def test_the_keyboard_may_be_left_out_only_when_nothing_is_typed(tmp_path: Path) -> None:
    start, end = GOOD.index("[keys.keyboard]"), GOOD.index("[[page]]")
    (told,) = faults(tmp_path, GOOD[:start] + GOOD[end:])
    assert told.startswith("8: keys.keyboard: texts are typed")
    path = tmp_path / "m.toml"
    path.write_text(GOOD[:start] + GOOD[end : GOOD.index('[[page]]\nid = "view')], "utf-8")
    assert load_map(path).keys.keyboard is None


def test_pages_of_a_group_stand_together(tmp_path: Path) -> None:
    text = GOOD.replace('layout = "flat"', 'layout = "two-level"')
    text = text.replace('title = "Main"', 'title = "Main"\ngroup = "G"')
    text = text.replace("for_each_camera = true", 'for_each_camera = true\ngroup = "H {n}"')
    text += '[[page]]\nid = "more"\ntitle = "More"\ngroup = "G"\n'
    text += '[[page.field]]\nid = "more.x"\nlabel = "X"\ntype = "switch"\n'
    (told,) = faults(tmp_path, text)
    assert "put the pages of a group together" in told


@pytest.mark.parametrize("path", shipped_map_paths().values(), ids=lambda path: path.stem)
def test_shipped_maps_are_sound(path: Path) -> None:
    """Loaded by our loader, and valid by the JSON Schema for an independent validator."""
    menu_map = load_map(path)
    assert menu_map.id == path.stem
    for firmware in menu_map.firmware:
        for field in menu_map.fields_in(firmware):
            default = menu_map.default(field, firmware)
            assert default is None or problem(field.type, default) is None
    schema = json.loads(map_schema())
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(tomllib.loads(path.read_text("utf-8")), schema)


def test_shipped_maps_are_as_large_as_promised() -> None:
    paths = shipped_map_paths()
    octad, four = load_map(paths["quillfen-octad"]), load_map(paths["marrowby-four"])
    assert (octad.keys.layout, octad.cameras) == ("flat", 8)
    assert (four.keys.layout, four.cameras) == ("two-level", 4)
    assert min(len(octad.fields_in(version)) for version in octad.firmware) >= 150
    assert min(len(four.fields_in(version)) for version in four.firmware) >= 80


@pytest.mark.parametrize(
    "change",
    [
        ('type = "choice"', 'type = "picklist"'),
        ("cameras = 2", "cameras = 0"),
        ('id = "main.mode"', 'id = "Main Mode"'),
        ("decimals = 1", "decimal = 1"),
        ('label = "Mode"', ""),
    ],
)
def test_the_published_schema_refuses_what_the_loader_refuses(
    tmp_path: Path, change: tuple[str, str]
) -> None:
    schema = json.loads((DOCS / "menu-map.schema.json").read_text("utf-8"))
    good = GOOD
    jsonschema.validate(tomllib.loads(good), schema)
    bad = good.replace(*change, 1)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(tomllib.loads(bad), schema)
    assert faults(tmp_path, bad)


def test_the_published_schema_is_up_to_date() -> None:
    published = (DOCS / "menu-map.schema.json").read_text("utf-8")
    assert published == map_schema(), "run: make docs"


def test_the_map_in_the_guide_is_whole(tmp_path: Path) -> None:
    guide = (DOCS / "menu-map.md").read_text("utf-8")
    example = guide.split("```toml\n")[1].split("```")[0]
    path = tmp_path / "tallowby-two.toml"
    path.write_text(example, "utf-8")
    menu_map = load_map(path)
    assert menu_map.id == path.stem
    assert [page.title for page in menu_map.pages] == ["General", "Camera 1", "Camera 2"]
    schema = json.loads(map_schema())
    jsonschema.validate(tomllib.loads(example), schema)


def test_the_guide_explains_every_key_of_the_format() -> None:
    guide = (DOCS / "menu-map.md").read_text("utf-8")
    schema = json.loads(map_schema())
    keys = {key for part in [schema, *schema["$defs"].values()] for key in part["properties"]}
    example = guide.split("```toml\n")[1].split("```")[0]
    written = {key for key in keys if f"`{key}`" in guide or f"{key} = " in example}
    # These four are the names of tables.
    assert keys - written <= {"page", "field", "keys", "keyboard"}


def test_where_recorders_look_for_firmware() -> None:
    places = {name: load_map(path).firmware_file for name, path in shipped_map_paths().items()}
    assert places["marrowby-four"] == FirmwarePlace("SERVICE/LOAD", "m4-*.mfw")
    assert places["quillfen-octad"] == FirmwarePlace("", "octad*.qfi")


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('folder = "../up"', "'..' is no name of a file"),
        ('folder = "a\\\\b"', "do not take"),
        ('folder = "/a"', "is no name of a file"),
        ('pattern = "a/*.img"', "names a folder"),
        ('pattern = ""', "is no name of a file"),
        ('pattern = "*."', "would be dropped"),
    ],
)
def test_places_that_no_stick_has(line: str, says: str, tmp_path: Path) -> None:
    key = line.partition(" ")[0]
    text = shipped_map_paths()["marrowby-four"].read_text("utf-8")
    old = next(one for one in text.splitlines() if one.startswith(f"{key} ="))
    path = tmp_path / "marrowby-four.toml"
    path.write_text(text.replace(old, line, 1), "utf-8")
    with pytest.raises(MapError, match=re.escape(says)):
        load_map(path)
