"""From photographs of a recorder without a map to its map, and with that map to the next vehicle.

The photographs are the simulator's (tuning looks); the drafter sees nothing but them.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from asfound.cli.main import call
from asfound.demo.photos import Photo, Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TUNING_THEMES
from asfound.model.kinds import Number, Switch, Time
from asfound.model.values import shown
from asfound.ports.backends.map_draft import load_draft
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

RECORDER = load_map(shipped_map_paths()["marrowby-four"])
FIRMWARE = RECORDER.firmware[-1]
LOOK = next(theme for theme in TUNING_THEMES if theme.name == "harbour")
NAMES = "Marrowby Four"


def vehicle(folder: Path, seed: int, pages: set[str], factory: bool = False) -> list[Photo]:
    values = random_values(RECORDER, FIRMWARE, np.random.default_rng(seed))
    if factory:
        defaults = {f.id: RECORDER.default(f, FIRMWARE) for f in RECORDER.fields_in(FIRMWARE)}
        values |= {name: value for name, value in defaults.items() if value is not None}
    what = Session(LOOK, "clean", seed, pages=frozenset(pages), size=(1600, 1200))
    return shoot(RECORDER, values, FIRMWARE, what, folder)


@pytest.fixture(scope="module")
def drafted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, int]:
    folder = tmp_path_factory.mktemp("draft")
    vehicle(folder / "one", 31, {"channel-1", "channel-2", "keeping"})
    path = folder / "own.toml"
    return path, call(["draft", str(folder / "one"), "--model", NAMES, "-o", str(path)])


def test_the_draft_has_every_page_and_row(drafted: tuple[Path, int]) -> None:
    path, code = drafted
    assert code == 1  # there are things to check
    draft = load_draft(path)
    assert [page.title for page in draft.pages] == ["Channel {n}", "Keeping"]
    assert draft.cameras == 2
    keeping = [field.label for field in RECORDER.page_fields(RECORDER.page("keeping"), FIRMWARE)]
    assert [item.label for item in draft.pages[1].fields] == keeping
    kinds = {item.label: item.type for item in draft.pages[1].fields}
    assert isinstance(kinds["From"], Time)
    assert isinstance(kinds["Cut files every"], Number)
    assert isinstance(kinds["Reuse oldest footage"], Switch)


def test_it_reads_the_next_vehicle(
    drafted: tuple[Path, int], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    photos = vehicle(tmp_path, 77, {"channel-2", "keeping"})
    capsys.readouterr()
    code = call(["read", *(str(p.path) for p in photos), "--map", str(drafted[0]), "--json"])
    assert code == 1
    reading = json.loads(capsys.readouterr().out)
    truth = {}
    for name, value in (item for photo in photos for item in photo.truth.items()):
        field = RECORDER.field(name)
        # A switch may have been drafted as a list of its words.
        truth[field.label] = {value, shown(field.type, value)}
    counts = {True: 0, False: 0}
    for photo in reading["photos"]:
        assert photo["page"] is not None
        for one in photo["fields"]:
            if one["state"] == "sure":
                assert one["value"] in truth[one["label"]], one
            counts[one["state"] == "sure"] += 1
    assert counts[True] > counts[False]


def test_more_photographs_add_to_it_and_learn_gives_factory_values(
    drafted: tuple[Path, int], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    photos = vehicle(tmp_path, 5, {"keeping", "supply"}, factory=True)
    names = [str(photo.path) for photo in photos]
    path = tmp_path / "more.toml"
    assert call(["draft", *names, "--onto", str(drafted[0]), "-o", str(path)]) == 1
    draft = load_draft(path)
    assert [page.title for page in draft.pages] == ["Channel {n}", "Keeping", "Supply"]
    assert draft.pages[1].seen == 2
    capsys.readouterr()
    assert call(["map", "learn", str(path), names[0], "--firmware", FIRMWARE]) in (0, 1)
    assert "written for 2.03" in capsys.readouterr().out
    known = {item.label: item.default for item in load_draft(path).pages[1].fields}
    assert known["From"] == "06:00"
    assert known["Cut files every"] == "10"
    assert known["Keep before trigger"] == "15"
    assert load_draft(path).firmware == (FIRMWARE,)
    assert call(["map", "check", str(path)]) == 0
    said = capsys.readouterr().out
    assert "the keys are placeholders" in said
    assert "only partly seen" in said
    assert "factory value" in said
    assert call(["rekey", "--map", str(path), "--firmware", FIRMWARE, "--target", "x.json"]) != 0


def test_wrong_calls_are_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    there = tmp_path / "there.toml"
    there.write_text("", "utf-8")
    photo = tmp_path / "no.jpg"
    photo.write_bytes(b"nothing")
    out = str(tmp_path / "new.toml")
    assert call(["draft", str(photo), "-o", out]) == 2
    assert "--model" in capsys.readouterr().err
    assert call(["draft", str(photo), "-o", str(there), "--model", NAMES]) == 2
    assert "--onto" in capsys.readouterr().err
    assert call(["draft", str(tmp_path / "none.jpg"), "-o", out, "--model", NAMES]) == 8
    assert call(["draft", str(photo), "-o", out, "--model", NAMES]) == 4
    assert "no.jpg" in capsys.readouterr().err
    Image.new("RGB", (640, 480), "grey").save(photo)
    assert call(["draft", str(photo), "-o", out, "--model", NAMES]) == 2
    assert "no photograph shows a menu page" in capsys.readouterr().err
    assert not Path(out).exists()
