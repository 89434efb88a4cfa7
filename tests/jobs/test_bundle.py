"""Bundles: closed visits out and in; what is no bundle, altered or hostile is refused whole.

From outside: the reference library `bagit` and coreutils' sha256sum check ours, and a bundle made
by `bagit` and `cryptography` alone, without asfound's writer, is read.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
from collections.abc import Iterator, Mapping
from datetime import timedelta
from pathlib import Path

import bagit
import pytest
from tests.bundle_kit import (
    KEY,
    Laptop,
    closed_visit,
    dump,
    laptop,
    nothing_in,
    resealed,
    with_more,
)
from tests.visit_kit import VEHICLE, opened

from asfound.errors import InputError, IntegrityError, NotFound, UsageError
from asfound.jobs.bag_verify import verify_bag
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_gates import gate_states
from asfound.jobs.visit_journal import load_visit
from asfound.model.journal import canonical_json, next_entry
from asfound.ports.backends.bag_disk import DiskBag
from asfound.ports.backends.signatures_ed25519 import Ed25519

RECORDS = "data/bundle.jsonl"


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Laptop]:
    made = laptop(tmp_path_factory.mktemp("here"))
    yield made
    made.store.close()


@pytest.fixture(scope="module")
def visit(here: Laptop) -> str:
    made = closed_visit(here)
    with_more(here, made)
    return made


@pytest.fixture(scope="module")
def whole(here: Laptop, visit: str, tmp_path_factory: pytest.TempPathFactory) -> Path:
    bag = tmp_path_factory.mktemp("bags") / "bag"
    here.export(bag, visit)
    return bag


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Laptop]:
    """A laptop that refuses whatever it is given in these tests."""
    made = laptop(tmp_path_factory.mktemp("empty"))
    yield made
    made.store.close()


@pytest.fixture
def there(tmp_path: Path) -> Iterator[Laptop]:
    made = laptop(tmp_path / "there")
    yield made
    made.store.close()


@pytest.fixture
def bag(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(whole, tmp_path / "bag"))


# --- out and in -----------------------------------------------------------------------------


def test_a_closed_visit_arrives_whole_and_again_is_nothing_new(
    here: Laptop, there: Laptop, whole: Path, visit: str
) -> None:
    made = there.take(whole)
    assert made.visits == (visit,) and made.merged.holds == 1 and made.blobs
    assert dump(there.store) == dump(here.store)
    found = check_visit(visit, store=there.store, blobs=there.blobs)
    assert found.faults == () and found.blobs
    picture = there.store.place_pictures(VEHICLE.number)[0].picture
    assert there.blobs.get(picture) == b"where the recorder sits"
    again = there.take(whole)
    assert again.nothing and dump(there.store) == dump(here.store)


def test_the_reference_library_and_sha256sum_find_ours_whole(whole: Path) -> None:
    assert bagit.Bag(str(whole)).is_valid()
    for name in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        done = subprocess.run(["sha256sum", "-c", "--strict", name], cwd=whole, capture_output=True)
        assert done.returncode == 0, done.stdout
    assert not verify_bag(DiskBag(whole), signatures=Ed25519(), key=KEY.public).faults


def test_a_hold_from_a_bundle_locks_steps_here_at_once(there: Laptop, whole: Path) -> None:
    there.clock.at += timedelta(days=1)
    state = opened(there.desk)
    there.take(whole)
    state = load_visit(state.id, store=there.store, blobs=there.blobs)
    gates = [gate for step in state.procedure.steps for gate in gate_states(state, step)]
    shut = [gate for gate in gates if gate.gate == "no-hold"]
    assert shut and not any(gate.holds for gate in shut)


def test_open_visits_and_unknown_ones_are_not_packed(there: Laptop, tmp_path: Path) -> None:
    state = opened(there.desk)
    with pytest.raises(UsageError, match="is open; `asfound visit close"):
        there.export(tmp_path / "bag", state.id)
    with pytest.raises(NotFound, match="no visit 'x'"):
        there.export(tmp_path / "bag", "x")
    assert not (tmp_path / "bag").exists() and not (tmp_path / "bag.unfinished").exists()


def test_what_was_altered_at_home_is_not_packed(there: Laptop, tmp_path: Path) -> None:
    made = closed_visit(there)
    name = next(
        path
        for path in there.blobs.root.rglob("*")
        if path.is_file() and b"photo" in path.read_bytes()[:5]
    )
    name.write_bytes(b"another")
    with pytest.raises(IntegrityError, match="not the bytes that were stored"):
        there.export(tmp_path / "bag", made)
    assert not (tmp_path / "bag").exists()


def test_two_signatures_given_in_two_places_are_both_kept(
    here: Laptop, there: Laptop, whole: Path, visit: str, tmp_path: Path
) -> None:
    other = laptop(tmp_path / "other")
    for at, by in ((there, "bo"), (other, "cy")):
        at.take(whole)
        chain = at.store.entries(visit)
        data = {"role": "witness", "head": chain[-1].hash}
        at.store.append(next_entry(chain, visit, chain[-1].at, by, "signed", data))
        at.export(tmp_path / by, visit)
    assert len(there.take(tmp_path / "cy").merged.forks) == 1
    assert len(other.take(tmp_path / "bo").merged.forks) == 1
    assert dump(there.store) == dump(other.store)
    assert len(there.store.set_aside()) == 1
    # What is set aside goes along to a third place.
    third = laptop(tmp_path / "third")
    there.export(tmp_path / "both", visit)
    third.take(tmp_path / "both")
    assert dump(third.store) == dump(there.store)
    for at in (other, third):
        at.store.close()


def test_passwords_leave_only_when_they_are_said_to(there: Laptop, tmp_path: Path) -> None:
    made = closed_visit(there, secret=True)
    with pytest.raises(UsageError, match="they would leave with it"):
        there.export(tmp_path / "bag", made)
    there.export(tmp_path / "bag", made, passwords=True)


# --- who is believed, and which versions ----------------------------------------------------


def test_unknown_signers_are_refused(empty: Laptop, bag: Path) -> None:
    with pytest.raises(UsageError, match="which nobody here said to believe"):
        empty.take(bag, keys=())
    resealed(bag, b"e" * 32)
    with pytest.raises(UsageError, match="which nobody here said to believe"):
        empty.take(bag)
    (bag / "signature-ed25519.txt").unlink()
    with pytest.raises(IntegrityError, match="is not signed"):
        empty.take(bag)
    assert nothing_in(empty)


def with_head(bag: Path, **more: object) -> None:
    lines = (bag / RECORDS).read_bytes().splitlines(keepends=True)
    head = {**json.loads(lines[0]), **more}
    lines[0] = canonical_json(head).encode() + b"\n"
    (bag / RECORDS).write_bytes(b"".join(lines))
    resealed(bag)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("asfound-bundle/2", "from a newer asfound; bring asfound up to date"),
        ("asfound-bundle/0", "is no bundle of asfound"),
        ("something/1", "is no bundle of asfound"),
        (7, "is no bundle of asfound"),
    ],
)
def test_other_versions_are_refused_politely(
    empty: Laptop, bag: Path, said: object, told: str
) -> None:
    with_head(bag, format=said, more="of what is not known yet")
    with pytest.raises(InputError, match=told):
        empty.take(bag)
    assert nothing_in(empty)


def test_a_bag_of_recordings_is_no_bundle(empty: Laptop, bag: Path) -> None:
    (bag / RECORDS).unlink()
    resealed(bag)
    with pytest.raises(IntegrityError, match="this bag is no bundle of asfound"):
        empty.take(bag)


def test_version_1_as_it_is_frozen_is_read(there: Laptop, tmp_path: Path) -> None:
    """The format as docs/bundles.md has it, written by hand: later versions must read this."""

    def entry(seq: int, kind: str, data: Mapping[str, object], previous: str) -> dict[str, object]:
        body = {
            "visit": "88-261120-1", "seq": seq, "at": f"2026-11-20T08:0{seq}:00.000000Z",
            "by": "A. Tester", "kind": kind, "data": data, "previous": previous,
        }  # fmt: skip
        text = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        return {**body, "hash": hashlib.sha256(text.encode()).hexdigest()}

    menu_map = b'{"any":"document that the opening names"}'
    name = hashlib.sha256(menu_map).hexdigest()
    vehicle = {
        "number": "88", "plate": "BR 1 NDL", "kind": "bus", "depot": "North",
        "vehicle_class": "city", "cameras": [], "recorder": {
            "map_id": "m", "serial": "S-1", "firmware": "1.0", "place": "roof", "supply_volts": 24},
    }  # fmt: skip
    step = {
        "id": "end", "kind": "close", "title": "End", "text": "Go.", "cautions": [], "gates": [],
    }  # fmt: skip
    procedure = {"id": "p", "title": "Round", "steps": [step]}
    opening = {"vehicle": vehicle, "fleet": "Brindlemere", "procedure": procedure,
               "firmware": "1.0", "map": name, "holds": []}  # fmt: skip
    first = entry(0, "opened", opening, "0" * 64)
    last = entry(1, "closed", {"step": "end", "note": ""}, str(first["hash"]))
    head = {
        "format": "asfound-bundle/1", "requests": [], "visits": ["88-261120-1"],
        "writer": KEY.public.hex(),
    }  # fmt: skip
    folder = tmp_path / "theirs"
    (folder / "data" / "blobs").mkdir(parents=True)
    (folder / "data" / "blobs" / name).write_bytes(menu_map)
    lines = [head, {"visit": first}, {"visit": last}]
    dumped = [json.dumps(one, sort_keys=True, separators=(",", ":")) + "\n" for one in lines]
    (folder / RECORDS).write_text("".join(dumped), encoding="utf-8")
    (folder / "bagit.txt").write_text(
        "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n", encoding="utf-8"
    )
    resealed(folder)
    assert bagit.Bag(str(folder)).is_valid()
    assert there.take(folder).visits == ("88-261120-1",)
    assert [one.hash for one in there.store.entries("88-261120-1")] == [first["hash"], last["hash"]]
