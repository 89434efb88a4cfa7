"""Checked TOML files: faults carry the line they stand on, and nothing ends in a traceback.

Line numbers are counted by hand in the texts below; the values that the line index must cover come
from ``tomllib`` (TOML 1.0.0).
"""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict

from asfound.errors import InputError, MapError, NotFound, StorageError
from asfound.ports.backends.map_toml import SHIPPED, load_map
from asfound.ports.backends.toml_checked import MAX_BYTES, load_checked, load_toml
from asfound.ports.backends.toml_lines import Place, line_index


class Wheel(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    id: str
    size: int
    tags: list[str] = []


class Car(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    name: str
    doors: int
    open: bool = False
    wheel: list[Wheel] = []


def fault(tmp_path: Path, text: str) -> list[str]:
    path = tmp_path / "car.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(InputError) as caught:
        load_toml(path, Car, InputError)
    return str(caught.value).replace(f"{path}:", "").splitlines()


def test_a_good_file_is_the_model(tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    path.write_bytes(
        b"\xef\xbb\xbfname = 'x'\r\ndoors = 3\r\n[[wheel]]\r\nid = 'a'\r\nsize = 1\r\n"
    )
    car = load_toml(path, Car, InputError)
    assert (car.name, car.doors, car.wheel[0].size) == ("x", 3, 1)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("name = 'x'\ndoors = '3'\n", "2: doors: must be a whole number; the file has '3'"),
        ("name = 'x'\ndoors = 3\nopen = 1\n", "3: open: must be true or false, without quotes; "),
        ("doors = 3\n", "1: name: is missing; add it"),
        ("name = 'x'\ndoors = 3\ndoor = 4\n", "3: door: this key is not known here; did you mean"),
        ("name = 'x'\ndoors = 3\nqqqq = 4\n", "3: qqqq: this key is not known here; correct or"),
        ("name = 'x'\ndoors = 3\n\n[[wheel]]\nid = 'a'\n", "4: wheel 'a'.size: is missing; add it"),
        (
            "name = 'x'\ndoors = 3\n[[wheel]]\nid = 'a'\nsize = 1\n[[wheel]]\nsize = 2\n",
            "6: wheel[2].id: is missing; add it",
        ),
        (
            "name = 'x'\ndoors = 3\nwheel = [\n {id='a', size=1},\n {id='b', size='l'},\n]",
            "5: wheel 'b'.size: must be a whole number; the file has 'l'",
        ),
        (
            "name = 'x'\ndoors = 3\n[[wheel]]\nid = 'a'\nsize = 1\ntags = [\n 'p', # ]\n 4,\n]\n",
            "8: wheel 'a'.tags[2]: must be text in quotes; the file has 4",
        ),
        ('name = "x"\ndoors = 3\n\n"o\\np" = 1\n', "4: 'o\\np': this key is not known here"),
        ("name = 'x'\ndoors = \n", "2: file: not valid TOML: "),
        ("name = 'x'\nname = 'y'\n", "2: file: not valid TOML: "),
        ("name = 'x'\ndoors = [1,\n2", "3: file: not valid TOML: "),
    ],
)
def test_one_fault_is_one_line_with_its_place(tmp_path: Path, text: str, line: str) -> None:
    (told,) = fault(tmp_path, text)
    assert told.startswith(line)
    assert ";" in told


def test_several_faults_are_all_told_in_the_order_of_the_file(tmp_path: Path) -> None:
    told = fault(tmp_path, "doors = 'many'\nopen = 'no'\n[[wheel]]\nsize = 1.5\n")
    assert told[0].endswith(" 5 faults")
    assert [line.split(":")[0] for line in told[1:]] == ["1", "1", "2", "3", "4"]


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no such file"):
        load_toml(tmp_path / "none.toml", Car, InputError)
    with pytest.raises(InputError, match="folder"):
        load_toml(tmp_path, Car, InputError)
    with pytest.raises(NotFound, match="should"):
        (tmp_path / "f").write_text("")
        load_toml(tmp_path / "f" / "g.toml", Car, InputError)
    with pytest.raises(StorageError, match="cannot be read"):
        load_toml(Path("a\0b.toml"), Car, InputError)
    # POSIX: opening a FIFO for reading waits for a writer.
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(InputError, match="pipe"):
        load_toml(tmp_path / "pipe.toml", Car, InputError)
    (tmp_path / "big.toml").write_bytes(b"#" * (MAX_BYTES + 1))
    with pytest.raises(InputError, match="larger than"):
        load_toml(tmp_path / "big.toml", Car, InputError)
    (tmp_path / "latin.toml").write_bytes("doors = 3\nname = 'Kö'\n".encode("latin-1"))
    with pytest.raises(InputError, match=r"latin\.toml:2: file: not UTF-8"):
        load_toml(tmp_path / "latin.toml", Car, InputError)


@pytest.mark.parametrize("text", ["a = " + "[" * 30000, "a = " + "9" * 5000])
def test_absurd_nesting_and_numbers_are_one_line(tmp_path: Path, text: str) -> None:
    assert len(fault(tmp_path, text)) == 1


def test_further_checks_can_name_places(tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    path.write_text("name = 'x'\ndoors = 3\n\n[[wheel]]\nid = 'a'\nsize = 1\n", "utf-8")
    loaded = load_checked(path, Car, InputError)
    loaded.faults.raise_if_any()
    loaded.faults.add(("wheel", 0, "size"), "is odd; mend it")
    loaded.faults.add(("wheel", 0, "tags", 4), "is nowhere; add it")
    assert loaded.faults.found[0][1] == f"{path}:6: wheel 'a'.size: is odd; mend it"
    assert loaded.faults.found[1][0] == 4
    with pytest.raises(InputError, match="2 faults"):
        loaded.faults.raise_if_any()


SCALARS = st.one_of(
    st.integers(-5, 5).map(str),
    st.sampled_from(["true", "1.5", "07:30:00", "2026-11-25", "''", '""', "'''a\nb'''"]),
    st.sampled_from(['"""x\n"y" z"""', '"""q"""""', "'''q'''''", '"a # \\" ] b"', "'c } \" d'"]),
)
KEYS = st.sampled_from(["a", "b", '"c d"', "'e.f'", "g.h", '"i\\u0041"', "a-1_"])
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: "[ # [\n" + ",\n".join(items) + "\n]"),
        st.dictionaries(KEYS, inner, max_size=2).map(
            lambda items: "{" + ", ".join(f"{k} = {v}" for k, v in items.items()) + "}"
        ),
    ),
    max_leaves=6,
)


def places(value: object, at: Place = ()) -> set[Place]:
    found = {at}
    if isinstance(value, dict):
        for key, item in value.items():
            found |= places(item, (*at, key))
    elif isinstance(value, list):
        for number, item in enumerate(value):
            found |= places(item, (*at, number))
    return found


@given(
    st.lists(st.one_of(st.tuples(KEYS, VALUES), st.sampled_from(["[t]", "[[u]]", "[u.v]", "#"]))),
    st.sampled_from(["\n", "\r\n", "\n\n  # note\n"]),
)
def test_every_value_of_a_document_has_a_line(
    entries: list[tuple[str, str] | str], newline: str
) -> None:
    lines = [entry if isinstance(entry, str) else " = ".join(entry) for entry in entries]
    text = newline.join(lines)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return  # drawn keys or tables clash
    index = line_index(text)
    assert set(index) >= places(data)
    count = text.count("\n") + 1
    assert all(1 <= line <= count for line in index.values())


def test_lines_of_a_real_map_are_where_a_person_finds_them() -> None:
    text = (SHIPPED / "quillfen-octad.toml").read_text("utf-8")
    index = line_index(text)
    lines = text.splitlines()
    for number, page in enumerate(tomllib.loads(text)["page"]):
        assert lines[index["page", number, "id"] - 1] == f'id = "{page["id"]}"'
        for row, field in enumerate(page["field"]):
            line = lines[index["page", number, "field", row, "label"] - 1]
            assert line == f'label = "{field["label"]}"'


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.one_of(st.binary(max_size=200), st.text(max_size=200).map(str.encode)))
@example(raw=b"[[page]]\nid=1")
def test_random_bytes_are_refused_in_plain_words(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "map.toml"
    path.write_bytes(raw)
    with pytest.raises(MapError) as caught:
        load_map(path)
    assert str(path) in str(caught.value)


BASE = (SHIPPED / "marrowby-four.toml").read_bytes()


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(at=st.integers(0, len(BASE)), cut=st.integers(0, 40), put=st.binary(max_size=6))
def test_a_map_with_a_scratch_loads_or_is_refused(
    tmp_path: Path, at: int, cut: int, put: bytes
) -> None:
    path = tmp_path / "map.toml"
    path.write_bytes(BASE[:at] + put + BASE[at + cut :])
    try:
        load_map(path)
    except MapError as error:
        assert str(error).startswith(str(path))
