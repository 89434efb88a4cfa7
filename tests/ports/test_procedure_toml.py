"""Procedures and cautions as data: shipped ones are sound, faulty ones are told by line."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from asfound.errors import InputError, NotFound
from asfound.model.procedure import GateKind, StepKind
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.procedure_toml import (
    SHIPPED,
    load_procedure,
    shipped_procedure_paths,
)

GOOD = """\
format = "asfound-procedure/1"
id = "own"
title = "Own"
[[step]]
id = "read"
title = "Read"
text = "Photograph
each page."
kind = "read-as-found"
[[step]]
id = "wipe"
title = "Wipe"
text = "Reset it."
kind = "reset"
gates = ["pages-read", "doubts-settled"]
cautions = ["park"]
[[step]]
id = "close"
title = "Close"
text = "Close it."
kind = "close"
gates = ["as-left-compared", "recording-proved"]
""".replace("Photograph\n", "Photograph ")


AT = {'kind = "read-as-found"': 'kind = "reset"'}
"""Without reading first, it is the reset that stands in the wrong place."""


def write(folder: Path, text: str, name: str = "own.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_procedure_file_becomes_a_procedure(tmp_path: Path) -> None:
    made = load_procedure(write(tmp_path, GOOD), {"park"})
    assert [step.id for step in made.steps] == ["read", "wipe", "close"]
    assert made.steps[1].gates == ("pages-read", "doubts-settled")
    assert made.changes and made.of_kind("reset") == made.step("wipe")
    assert made.of_kind("drive") is None
    with pytest.raises(NotFound, match="it has read, wipe, close"):
        made.step("other")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('["pages-read", "doubts-settled"]', '["pages-read"]', "must have 'doubts-settled'"),
        ('"as-left-compared", ', "", "must have 'as-left-compared'"),
        ('"recording-proved"', "", "must have 'recording-proved'"),
        ('"park"', '"dragons"', "no caution 'dragons'; known are park"),
        ('id = "wipe"', 'id = "read"', "stands twice"),
        ('kind = "close"', 'kind = "check"', "must be of kind 'close'"),
        ('kind = "reset"', 'kind = "read-as-found"', "stands twice"),
        ('kind = "read-as-found"', 'kind = "check"', "stands before 'read-as-found'"),
        ('"pages-read"', '"moon-full"', "gates"),
        ('kind = "reset"', 'kind = "explode"', "kind"),
        ('title = "Wipe"', 'title = ""', "title"),
    ],
)  # fmt: skip
def test_a_fault_names_file_line_and_field(tmp_path: Path, old: str, new: str, says: str) -> None:
    line = GOOD[: GOOD.index(AT.get(old, old))].count("\n") + 1
    path = write(tmp_path, GOOD.replace(old, new, 1))
    with pytest.raises(InputError) as caught:
        load_procedure(path, {"park"})
    assert says in str(caught.value)
    assert f"{path}:{line}: " in str(caught.value)


def test_shipped_procedures_load_and_cover_every_kind_and_gate() -> None:
    cautions = load_cautions()
    paths = shipped_procedure_paths()
    assert set(paths) == {"firmware-and-reset", "drive-swap", "inspection"}
    steps = [s for path in paths.values() for s in load_procedure(path, cautions).steps]
    assert {step.kind for step in steps} == set(get_args(StepKind))
    assert {gate for step in steps for gate in step.gates} == set(get_args(GateKind))
    assert {load_procedure(path, cautions).id for path in paths.values()} == set(paths)


def test_shipped_procedures_say_what_to_do_not_what_to_type() -> None:
    # Pages have a button for it, the command line shows its command beside the text.
    for path in shipped_procedure_paths().values():
        text = path.read_text(encoding="utf-8")
        assert "asfound visit" not in text and "--" not in text and "VISIT" not in text


def test_every_caution_is_used_sourced_and_defers_to_somebody() -> None:
    cautions = load_cautions()
    text = "".join(path.read_text() for path in SHIPPED.glob("*.toml"))
    used = set(re.findall(r'"([a-z-]+)"', " ".join(re.findall(r"cautions = (\[.*\])", text))))
    for name, caution in cautions.items():
        assert caution.source and caution.defers_to and caution.title
        assert "\n" not in caution.text and "  " not in caution.text
        assert name in used


def test_the_cautions_that_the_trade_asks_for_are_there() -> None:
    # The topics are those of HSE, EDPB and vehicle makers' guidance, each named in its source;
    # 60-1500 V d.c. and orange cables: UK HSE, electric and hybrid vehicles.
    cautions = load_cautions()
    assert {"park", "high-voltage", "battery", "airbag", "height", "personal-data"} <= set(cautions)
    assert "60 V to 1500 V" in cautions["high-voltage"].text
    assert "orange" in cautions["high-voltage"].text


@pytest.mark.parametrize("text", ["", 'format = "asfound-cautions/1"\ncaution = []\n'])
def test_a_cautions_file_without_cautions_is_told(tmp_path: Path, text: str) -> None:
    with pytest.raises(InputError):
        load_cautions(write(tmp_path, text))


def test_a_caution_that_stands_twice_is_told(tmp_path: Path) -> None:
    one = '[[caution]]\nid = "a"\ntitle = "A"\ntext = "B"\nsource = "C"\ndefers_to = "D"\n'
    path = write(tmp_path, 'format = "asfound-cautions/1"\n' + one + one)
    with pytest.raises(InputError, match="'a' stands twice"):
        load_cautions(path)
