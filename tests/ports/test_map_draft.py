"""Drafted maps as files: what is written is read the same, and a person's text stays."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import MapError, NotFound, StorageError
from asfound.model.draft import Draft, DraftPage
from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.menu_map import Field, Keys
from asfound.ports.backends.map_draft import changed_text, draft_text, load_draft, save_draft
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

KEYS = Keys(
    "flat", "Up", "Down", "Left", "Right", "OK", "Back", "-", "+", "Next", "Previous",
    "Right", "Left", save="leave", drafted=True,
)  # fmt: skip
KINDS: tuple[FieldType, ...] = (
    Choice(("Low", 'High "x"', "back\\slash")),
    Switch("Yes", "No"),
    Number(Decimal("0.00"), Decimal("99.99"), Decimal("0.01"), 2, "g", ("Off",)),
    Level(0, 100),
    Time(seconds=True),
    Date("DD/MM/YYYY"),
    IPv4(padded=True),
    Host(80),
    Text(64, "ab 1"),
    Secret(32, "•"),
    ReadOnly("serial"),
)


def small() -> Draft:
    fields = tuple(
        Field(f"all.row-{number}", f"Row {number}", kind, drafted=("label", "type"), check="which?",
              seen=(("*", 2),))
        for number, kind in enumerate(KINDS)
    )  # fmt: skip
    camera = Field("camera-{n}.name", "Name {n}", Text(9), default="CAM {n}")
    pages = (
        DraftPage("all", "All kinds", fields, None, False, ("title",), "", 2),
        DraftPage("camera-{n}", "Camera {n}", (camera,), None, True),
    )
    return Draft("tallowby-two", "Tallowby", "Two", 2, ("1.0", "1.1"), KEYS, pages)


def saved(draft: Draft, folder: Path) -> Path:
    path = folder / "own.toml"
    save_draft(draft, path)
    return path


def test_every_type_comes_back(tmp_path: Path) -> None:
    path = saved(small(), tmp_path)
    assert load_draft(path) == small()
    menu_map = load_map(path)
    assert menu_map.field("camera-2.name").label == "Name 2"
    assert menu_map.field("all.row-0").drafted == ("label", "type")
    assert not list(tmp_path.glob("asfound-*"))


@pytest.mark.parametrize("name", ["quillfen-octad", "marrowby-four"])
def test_shipped_maps_can_be_loaded_as_they_stand(name: str) -> None:
    path = shipped_map_paths()[name]
    draft = load_draft(path)
    assert not any(page.drafted for page in draft.pages)
    # Nothing changed: the text stays, comments and all.
    assert changed_text(draft, path) == path.read_text("utf-8")


labels = st.text(
    st.characters(codec="utf-8", categories=("L", "N", "P", "S")), min_size=1, max_size=20
)


@given(labels, st.lists(labels, min_size=1, max_size=4, unique=True))
def test_any_text_survives(
    tmp_path_factory: pytest.TempPathFactory, label: str, options: list[str]
) -> None:
    item = Field("a.b", label, Choice(tuple(options)), check=label, seen=((label, 3),))
    draft = replace(small(), pages=(DraftPage("a", label, (item,)),))
    path = saved(draft, tmp_path_factory.mktemp("draft"))
    assert load_draft(path) == draft


EDITED = """\
# My own notes.
format = "asfound-map/1"
id = "tallowby-two"
maker = "Tallowby"
model = "Two"
cameras = 1
firmware = [
  "1.0",   # the one in the workshop
]

[keys]
drafted = true
layout = "flat"
up = "U"
down = "D"
left = "L"
right = "R"
ok = "OK"
back = "B"
minus = "-"
plus = "+"
next_page = "N"
previous_page = "P"

# ---- general
[[page]]
id = "general"
title = "General"   # as on the screen

[[page.field]]
id = "general.zone"
label   =   "Time zone"     # settled
type = "choice"
options = [
  "UTC",
  "UTC+1",
]

[[page.field]]
# asked the maker about this
id = "general.size"
label = "Size"
type = "choice"
options = ["Low"]
drafted = ["label", "type", "options"]
check = "?"

# ---- the end
"""


def test_only_what_changed_is_written_again(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(EDITED, "utf-8")
    before = load_draft(path)
    zone, size = before.pages[0].fields
    wider = replace(size, type=Choice(("Low", "High")), check="")
    new = Field("general.beep", "Beep", Switch(), drafted=("label",))
    pages = (
        replace(before.pages[0], fields=(zone, new, wider)),
        DraftPage("power", "Power", (Field("power.delay", "Delay", Text(9)),), drafted=("title",)),
    )
    after = replace(before, pages=pages, cameras=4, firmware=("1.0", "1.1"))
    save_draft(after, path, path)
    assert load_draft(path) == after
    text = path.read_text("utf-8")
    for kept in (
        "# My own notes.",
        'label   =   "Time zone"     # settled',
        '  "UTC+1",\n]',
        "# asked the maker about this",
        'title = "General"   # as on the screen',
        "# ---- general",
        "# ---- the end",
    ):
        assert kept in text
    assert text.index("general.zone") < text.index("general.beep") < text.index("general.size")


def test_a_factory_value_is_added_to_a_row_that_stays_as_written(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(EDITED, "utf-8")
    before = load_draft(path)
    zone, size = before.pages[0].fields
    pages = (replace(before.pages[0], fields=(replace(zone, default="UTC"), size)),)
    save_draft(replace(before, pages=pages), path, path)
    assert load_draft(path).pages[0].fields[0].default == "UTC"
    assert 'label   =   "Time zone"     # settled' in path.read_text("utf-8")


def test_a_file_that_cannot_be_added_to_stays_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    row = '{ id = "a.b", label = "L", type = "switch" }'
    page = f'page = [{{ id = "a", title = "A", field = [{row}] }}]'
    head, _, _ = EDITED.partition("# ---- general")
    text = head.replace("[keys]", f"{page}\n\n[keys]")
    path.write_text(text, "utf-8")
    with pytest.raises(MapError, match=r"\[\[page\]\] tables"):
        save_draft(load_draft(path), path, path)
    assert path.read_text("utf-8") == text


def test_errors_leave_nothing_behind(tmp_path: Path) -> None:
    with pytest.raises(StorageError):
        save_draft(small(), tmp_path / "none" / "own.toml")
    with pytest.raises(NotFound):
        load_draft(tmp_path / "none.toml")
    twice = replace(small(), pages=(small().pages[0], small().pages[0]))
    with pytest.raises(MapError, match="already used"):
        save_draft(twice, tmp_path / "own.toml")
    assert not list(tmp_path.iterdir())
    assert draft_text(small()).startswith("# Drafted by asfound")
