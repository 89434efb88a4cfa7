"""Hostile bundles: each is refused in one line of ours, and nothing of it is kept.

The kinds of attack are those of RFC 8493 section 5 (paths, links, collisions) and of archives and
JSON in general (common practice, no source). A dishonest owner of a believed key can sign what he
likes; what he signs must still be a bundle.
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.bundle_kit import KEY, Laptop, dump, laptop, nothing_in, resealed, small_visit, with_more
from tests.visit_kit import T0

from asfound.errors import AsfoundError, InputError, IntegrityError
from asfound.model.journal import Entry, canonical_json, next_entry, rfc3339

RECORDS = "data/bundle.jsonl"
FEW = [HealthCheck.function_scoped_fixture]


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Laptop]:
    made = laptop(tmp_path_factory.mktemp("here"))
    visit = small_visit(made)
    with_more(made, visit)
    yield made
    made.store.close()


@pytest.fixture(scope="module")
def whole(here: Laptop, tmp_path_factory: pytest.TempPathFactory) -> Path:
    bag = tmp_path_factory.mktemp("bags") / "bag"
    here.export(bag, *here.store.visits())
    return bag


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Laptop]:
    made = laptop(tmp_path_factory.mktemp("empty"))
    yield made
    made.store.close()


@pytest.fixture
def bag(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(whole, tmp_path / "bag"))


def blob(bag: Path) -> Path:
    return sorted((bag / "data" / "blobs").iterdir())[0]


def refused(at: Laptop, bag: Path) -> str:
    """The one line that it is refused with."""
    with pytest.raises((IntegrityError, InputError)) as told:
        at.take(bag)
    text = str(told.value)
    assert "\n" not in text and nothing_in(at)
    return text


# --- the bag --------------------------------------------------------------------------------


def _link(bag: Path) -> None:
    blob(bag).rename(bag.parent / "out")
    blob_path = bag / "data" / "blobs" / (bag.parent / "out").name
    blob_path.symlink_to(bag.parent / "out")


def _loop(bag: Path) -> None:
    (bag / "data" / "round").symlink_to("round")


def _folder(bag: Path) -> None:
    shutil.move(bag / "data", bag.parent / "elsewhere")
    (bag / "data").symlink_to(bag.parent / "elsewhere")


def _socket(bag: Path) -> None:
    at = Path.cwd()
    os.chdir(bag / "data")  # a socket's path may be no longer than about 100 bytes (unix(7))
    with socket.socket(socket.AF_UNIX) as made:
        made.bind("s")
    os.chdir(at)


def _zeros(bag: Path) -> None:
    with blob(bag).open("r+b") as file:
        file.truncate(10_000_000_000)


def _manifest_line(line: str) -> Callable[[Path], None]:
    def change(bag: Path) -> None:
        with (bag / "manifest-sha256.txt").open("a", encoding="utf-8") as file:
            file.write(line)

    return change


def _twin(bag: Path) -> None:
    (bag / "data" / "blobs" / blob(bag).name.upper()).write_bytes(blob(bag).read_bytes())


def _forms(bag: Path) -> None:
    for form in ("NFC", "NFD"):
        (bag / "data" / unicodedata.normalize(form, "Überland.txt")).write_bytes(b"")


ZERO = "0" * 64
BAGS: Mapping[str, tuple[Callable[[Path], Any], str]] = {
    "changed": (lambda bag: blob(bag).write_bytes(b"x" * blob(bag).stat().st_size), "blobs/"),
    "cut": (lambda bag: os.truncate(blob(bag), 3), "Payload-Oxum"),
    "missing": (lambda bag: blob(bag).unlink(), "Payload-Oxum"),
    "added": (lambda bag: (bag / "data" / "more").write_bytes(b"x"), "Payload-Oxum"),
    "added, empty": (lambda bag: (bag / "data" / "more").write_bytes(b""), "Payload-Oxum"),
    "tag added": (lambda bag: (bag / "more.txt").write_bytes(b"x"), "not among the files"),
    "renamed": (lambda bag: blob(bag).rename(bag / "data" / "x"), "data/x: was added"),
    "link": (_link, "is a link"),
    "loop": (_loop, "is a link"),
    "folder is a link": (_folder, "is a link"),
    "fifo": (lambda bag: os.mkfifo(bag / "data" / "p"), "device, pipe or socket"),
    "socket": (_socket, "device, pipe or socket"),
    "10 GB of zeros": (_zeros, "Payload-Oxum"),
    "case": (_twin, "in case alone"),
    "forms": (_forms, "normal form"),
    "backslash": (lambda bag: (bag / "data" / "..\\x").write_bytes(b""), "backslash"),
    "path up": (_manifest_line(f"{ZERO}  data/../../up\n"), "manifest-sha256.txt"),
    "absolute": (_manifest_line(f"{ZERO}  /etc/hostname\n"), "manifest-sha256.txt"),
    "twice": (
        lambda bag: _manifest_line((bag / "manifest-sha256.txt").read_text().splitlines()[0])(bag),
        "manifest-sha256.txt",
    ),
    "no manifest": (lambda bag: (bag / "manifest-sha256.txt").unlink(), "not there"),
    "large manifest": (
        lambda bag: os.truncate(bag / "manifest-sha256.txt", 10_000_000_000), "not read"),
    "no declaration": (lambda bag: (bag / "bagit.txt").unlink(), "bagit.txt"),
    "signature": (
        lambda bag: os.truncate(bag / "signature-ed25519.txt", 40), "signature-ed25519.txt"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAGS)
def test_a_bag_that_is_not_what_was_signed_is_refused(empty: Laptop, bag: Path, name: str) -> None:
    act, told = BAGS[name]
    act(bag)
    assert told in refused(empty, bag)


@pytest.mark.parametrize("name", ["link", "loop", "fifo", "forms", "backslash", "added"])
def test_no_signature_makes_such_a_bag_good(empty: Laptop, bag: Path, name: str) -> None:
    BAGS[name][0](bag)
    resealed(bag)
    refused(empty, bag)


# --- the records, signed by a believed key ----------------------------------------------------


def lines_of(bag: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (bag / RECORDS).read_text("utf-8").splitlines()]


def rewrite(bag: Path, lines: list[dict[str, Any]]) -> None:
    text = "".join(canonical_json(line) + "\n" for line in lines)
    (bag / RECORDS).write_bytes(text.encode("utf-8", "surrogatepass"))
    resealed(bag)


def chained(lines: list[dict[str, Any]], change: Callable[[int, dict[str, Any]], None]) -> None:
    """Entries of the visit changed and chained anew, so that their hashes are right."""
    made: list[Entry] = []
    for seq, line in enumerate(line for line in lines if "visit" in line):
        body = line["visit"]
        change(seq, body)
        at = T0.fromisoformat(body["at"])
        made.append(next_entry(made, body["visit"], at, body["by"], body["kind"], body["data"]))
        line["visit"] = {
            "at": rfc3339(at), "by": made[-1].by, "data": made[-1].data, "hash": made[-1].hash,
            "kind": made[-1].kind, "previous": made[-1].previous, "seq": seq,
            "visit": made[-1].visit,
        }  # fmt: skip


def _set(seq: int, **more: object) -> Callable[[list[dict[str, Any]]], None]:
    def change(lines: list[dict[str, Any]]) -> None:
        chained(lines, lambda number, body: body.update(more) if number == seq else None)

    return change


def _raw(kind: str, **more: object) -> Callable[[list[dict[str, Any]]], None]:
    """Keys of the first line of a kind set, whatever its hash says."""

    def change(lines: list[dict[str, Any]]) -> None:
        next(line for line in lines if kind in line)[kind].update(more)

    return change


def _drop(lines: list[dict[str, Any]]) -> None:
    del lines[2]


FUTURE = rfc3339(T0 + timedelta(days=400))
LATER = FUTURE.replace(".000000", "")
DEEP: list[Any] = []
for _ in range(200):
    DEEP = [DEEP]
RECORD_LIES: Mapping[str, tuple[Callable[[list[dict[str, Any]]], Any], str]] = {
    "entry changed": (_raw("visit", by="eve"), "changed after it was written"),
    "chain broken": (_drop, "is open"),
    "first entry gone": (lambda lines: lines.pop(1), "continues one that is not there"),
    "far future": (_set(1, at=FUTURE), "after today by this computer's clock"),
    "hold in the future": (_raw("hold", placed_at=LATER), "after today"),
    "another visit": (_set(1, visit="999-261125-1"), "do not agree"),
    "unknown entry": (_set(1, kind="wiped"), "not known to this version"),
    "opened twice": (_set(1, kind="opened"), "not known to this version"),
    "no data": (_set(1, data={}), "lacks what it needs"),
    "another blob": (_set(0, data={"map": ZERO}), "Input should be"),
    "deep": (_set(1, data={"x": DEEP}), "is no JSON that is taken"),
    "a zero sign": (_set(1, by="a\0b"), "is no JSON that is taken"),
    "half a surrogate": (_raw("visit", by="\ud800"), "is no JSON that is taken"),
    "wrong types": (_raw("visit", seq=True), "is no entry"),
    "number as text": (_raw("visit", seq="0"), "is no entry"),
    "long id": (_raw("visit", visit="x" * 500), "is no entry"),
    "path as id": (_raw("visit", visit="../../x"), "is no entry"),
    "more keys": (_raw("hold", more=1), "not written as this asfound writes it"),
    "hold elsewhere": (_raw("hold", vehicle="999"), "no visit in it is of"),
    "hold of 1900": (_raw("hold", start="1900-01-01T00:00:00Z"), "out of all reason"),
    "hold by nobody": (_raw("hold", placed_by=""), "is no hold"),
    "hold without a reason": (_raw("hold", reason=""), "is no hold"),
    "hold half released": (_raw("hold", released_by="eve"), "is no hold"),
    "hold with a twin's id": (_raw("hold", id="hold-217-1~0"), "is no hold"),
    "tick elsewhere": (_raw("tick", visit="999-261125-1"), "a visit that is not in it"),
    "tick of no mark": (_raw("tick", mark="x"), "is no tick"),
    "place elsewhere": (_raw("place", vehicle="999"), "no visit is of"),
    "another place": (_raw("place", picture=ZERO), "nothing in it rests on this file"),
    "unknown line": (lambda lines: lines.append({"order": {}}), "no kind that this asfound knows"),
    "two in a line": (lambda lines: lines[1].update(lines[-1]), "no kind that this asfound knows"),
    "nothing but a head": (lambda lines: lines.__delitem__(slice(1, None)), "do not agree"),
}  # fmt: skip


@pytest.mark.parametrize("name", RECORD_LIES)
def test_records_that_cannot_be_are_refused(empty: Laptop, bag: Path, name: str) -> None:
    change, told = RECORD_LIES[name]
    lines = lines_of(bag)
    change(lines)
    rewrite(bag, lines)
    assert told in refused(empty, bag)


@pytest.mark.parametrize(
    "raw",
    [b"", b"\n", b"[]\n", b"{" * 100_000 + b"\n", b'{"a":1e999}\n', b'{"a":NaN}\n', b"\xff\xfe\n",
     b'{"a":1,"a":1}\n', b'{"a": 1}\n', b'{"a":' + b"9" * 50_000 + b"}\n", b"x" * (5 << 20)],
)  # fmt: skip
@pytest.mark.parametrize("place", [0, 1])
def test_lines_that_are_no_lines_are_refused(
    empty: Laptop, bag: Path, raw: bytes, place: int
) -> None:
    lines = (bag / RECORDS).read_bytes().splitlines(keepends=True)
    lines[place] = raw
    (bag / RECORDS).write_bytes(b"".join(lines) if place or raw else b"")
    resealed(bag)
    refused(empty, bag)


def test_a_blob_of_another_name_is_refused(empty: Laptop, bag: Path) -> None:
    blob(bag).write_bytes(b"something else")
    resealed(bag)
    refused(empty, bag)


# --- fuzzed ----------------------------------------------------------------------------------


@settings(max_examples=60, suppress_health_check=FEW)
@given(data=st.data())
def test_what_is_flipped_cut_or_renamed_is_never_taken_in(
    empty: Laptop, whole: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    bag = Path(shutil.copytree(whole, tmp_path_factory.mktemp("fuzz") / "bag"))
    files = sorted(path for path in bag.rglob("*") if path.is_file())
    path = data.draw(st.sampled_from(files))
    raw = bytearray(path.read_bytes())
    how = data.draw(st.sampled_from(["flip", "cut", "rename", "grow", "swap"]))
    if how == "flip":
        raw[data.draw(st.integers(0, len(raw) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    elif how == "cut":
        del raw[data.draw(st.integers(0, len(raw) - 1)) :]
    elif how == "grow":
        raw += data.draw(st.binary(min_size=1, max_size=20))
    path.write_bytes(raw)
    if how == "rename":
        path.rename(path.with_name(data.draw(st.sampled_from(["x", ".x", "x.txt"]))))
    elif how == "swap":
        other = data.draw(st.sampled_from([one for one in files if one != path]))
        old = other.read_bytes()
        other.write_bytes(path.read_bytes())
        path.write_bytes(old)
    with pytest.raises(AsfoundError) as told:
        empty.take(bag)
    assert "\n" not in str(told.value) and nothing_in(empty)
    shutil.rmtree(bag.parent)


@settings(max_examples=60, suppress_health_check=FEW)
@given(data=st.data())
def test_signed_nonsense_is_refused_or_whole(
    here: Laptop, empty: Laptop, whole: Path, tmp_path_factory: pytest.TempPathFactory,
    data: st.DataObject,
) -> None:  # fmt: skip
    """A value anywhere in the records is exchanged, and all is signed anew."""
    bag = Path(shutil.copytree(whole, tmp_path_factory.mktemp("fuzz") / "bag"))
    lines = lines_of(bag)
    number = data.draw(st.integers(0, 2))
    at: Any = lines[number]
    while True:
        key = data.draw(st.sampled_from(sorted(at) if isinstance(at, dict) else range(len(at))))
        if not isinstance(at[key], dict | list) or not at[key] or data.draw(st.integers(0, 4)) == 0:
            break
        at = at[key]
    odd: st.SearchStrategy[Any] = st.sampled_from(
        ["", "x", "../x", 0, -1, 1 << 70, 1.5, None, True, [], {}, [[]], "\u202e"]
    )
    before, at[key] = at[key], data.draw(odd)
    rewrite(bag, lines)
    if at[key] != before or type(at[key]) is not type(before):
        with pytest.raises(AsfoundError) as told:
            empty.take(bag)
        assert "\n" not in str(told.value) and nothing_in(empty)
    shutil.rmtree(bag.parent)


def test_the_bag_that_they_were_made_of_is_good(here: Laptop, whole: Path, tmp_path: Path) -> None:
    there = laptop(tmp_path)
    there.take(whole, [KEY.public])
    assert dump(there.store) == dump(here.store)
    there.store.close()
