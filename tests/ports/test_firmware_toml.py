"""The firmware catalogue: every fault with its line, every contradiction told."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from asfound.errors import InputError, NotFound
from asfound.ports.backends.firmware_toml import load_catalogue

DOCS = Path(__file__).parents[2] / "docs"
HEAD = """format = "asfound-firmware/1"
[[model]]
map = "m"
order = "dotted"
"""


def image(version: str, more: str = "", hardware: str = "A", sha: str = "0") -> str:
    return (
        f'[[image]]\nmap = "m"\nhardware = ["{hardware}"]\nversion = "{version}"\n'
        f'file = "f{version}-{hardware}{sha}.bin"\nsize = 1\nsha256 = "{sha * 64}"\n{more}\n'
    )


def told(tmp_path: Path, text: str) -> str:
    path = tmp_path / "firmware.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_catalogue(path)
    return str(caught.value).replace(str(tmp_path), "")


def test_the_example_of_the_guide_is_sound(tmp_path: Path) -> None:
    text = (DOCS / "firmware.md").read_text(encoding="utf-8")
    found = re.search(r"```toml\n(.*?)```", text, re.S)
    assert found is not None
    path = tmp_path / "firmware.toml"
    path.write_text(found[1], encoding="utf-8")
    made = load_catalogue(path)
    assert [one.version for one in made.images] == ["1.12", "2.01", "2.10", "2.9"]
    assert made.images[3].withdrawn is not None and dict(made.hardware) == {"MF-20417": "B"}


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        (image("1.0") + image("1.00", sha="1"), 19, "with another SHA-256"),
        (image("1.0") + image("1.0.0"), 16, "keep one of them"),
        (image("2.0", 'stones = ["1.0"]'), 12, "there is no image of 1.0"),
        (image("2.0", 'needs = "1.5"') + image("1.0"), 12, "nothing reaches 1.5"),
        (image("2.0", 'needs = "2.0"'), 12, "not older than the image itself"),
        (image("2.0", 'floor = "2.1"'), 12, "newer than the image itself"),
        (image("2.0", 'needs = "1.0"') + image("1.0", hardware="B"), 12, "nothing reaches 1.0"),
        (
            image("2.0", 'withdrawn = { on = 2026-03-01, why = "hot" }\n'
                  'approved = [{ fleet = "f", by = "R", on = 2026-03-02 }]'),
            13,
            "withdrawn by then",
        ),
        (image("latest"), 8, "no dotted version"),
        (image("1.0", 'notes = "a"\nnotez = "b"'), 13, "did you mean 'notes'"),
        (image("1.0").replace('file = "f1', 'file = "../f1'), 9, "without a folder"),
        (image("1.0").replace('map = "m"', 'map = "n"'), 6, "has no [[model]]"),
    ],
)  # fmt: skip
def test_a_fault_is_one_line(tmp_path: Path, text: str, line: int, says: str) -> None:
    said = told(tmp_path, HEAD + text)
    assert said.startswith(f"/firmware.toml:{line}: ") and says in said, said
    assert "\n" not in said


def test_stones_in_a_circle_are_told_for_each_image_in_it(tmp_path: Path) -> None:
    said = told(
        tmp_path,
        HEAD
        + image("1.0")
        + image("2.0", 'stones = ["3.0"]')
        + image("3.0", 'stones = ["2.0"]')
        + image("4.0", 'stones = ["3.0"]'),
    )
    assert "2 faults" in said and said.count("in a circle") == 2
    assert "of 2.0 lead" in said and "of 3.0 lead" in said


def test_several_faults_are_told_together(tmp_path: Path) -> None:
    said = told(tmp_path, HEAD.replace("dotted", "by-name") + HEAD.partition("\n")[2])
    assert "2 faults" in said and "is no order" in said and "stands twice" in said


def test_versions_in_the_field_are_reached(tmp_path: Path) -> None:
    path = tmp_path / "firmware.toml"
    text = HEAD + 'in_field = ["1.5"]\n' + image("2.0", 'needs = "1.5"\nstones = ["1.5"]')
    path.write_text(text, encoding="utf-8")
    assert load_catalogue(path).models[0].in_field == ("1.5",)


def test_a_bad_pattern_is_told(tmp_path: Path) -> None:
    scheme = """[[scheme]]
id = "own"
pattern = '(?P<a>([0-9]+)+)'
parts = [{ group = "a", as = "number" }]
"""
    said = told(tmp_path, HEAD.replace("dotted", "own") + scheme)
    assert ":8: scheme 'own'.parts: the pattern repeats a group" in said
    said = told(tmp_path, HEAD + scheme.replace("([0-9]+)+", "[0-9]+").replace('"number"', '"x"'))
    assert "'x' is not known; use one of number, letters, words" in said


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        load_catalogue(tmp_path / "no.toml")
