"""Bags that were changed in any way at all, and the tools of others beside ours.

Outside the project: `sha256sum` of coreutils, `openssl pkeyutl`, the reference library `bagit`.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tracemalloc
from collections.abc import Callable, Iterator
from pathlib import Path

import bagit
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.evidence_kit import KEY, Minutes, copy_with, verify
from tests.fault_layer import quick_folder

NAMES = ("ch1-10.mp4", "ch2-11.mp4", "day/ch3-12.mp4")
HUGE = 10 * 10**9


def made_bag(folder: Path) -> Path:
    for at, name in enumerate(NAMES):
        path = folder / "drive" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(bytes(range(at, at + 40)) * 5)
    copy_with(Deep(), (folder / "drive",), folder / "bag")
    return folder / "bag"


class Deep(Minutes):
    """The files of a folder and the folders in it."""

    def find(self, path: Path) -> list[Path]:
        return sorted(path.rglob("*.mp4"))


@pytest.fixture(scope="module")
def quick() -> Iterator[Path]:
    with quick_folder() as folder:
        yield folder


@pytest.fixture(scope="module")
def good(quick: Path) -> Path:
    return made_bag(quick)


@pytest.fixture
def bag(tmp_path: Path) -> Path:
    return made_bag(tmp_path)


def contents(bag: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(bag)): path.read_bytes() for path in bag.rglob("*") if path.is_file()
    }


Change = Callable[[Path, st.DataObject], None]


def _one(bag: Path, data: st.DataObject) -> Path:
    return data.draw(st.sampled_from(sorted(path for path in bag.rglob("*") if path.is_file())))


def _splice(bag: Path, data: st.DataObject) -> None:
    path = _one(bag, data)
    old = path.read_bytes()
    at = data.draw(st.integers(0, len(old)))
    gone = data.draw(st.integers(0, 3))
    path.write_bytes(old[:at] + data.draw(st.binary(max_size=4)) + old[at + gone :])


def _swap(bag: Path, data: st.DataObject) -> None:
    one, other = _one(bag, data), _one(bag, data)
    first, second = one.read_bytes(), other.read_bytes()
    one.write_bytes(second)
    other.write_bytes(first)


def _remove(bag: Path, data: st.DataObject) -> None:
    if len(contents(bag)) > 1:
        _one(bag, data).unlink()


def _add(bag: Path, data: st.DataObject) -> None:
    name = data.draw(
        st.sampled_from(["data/x", "data/CH1-10.mp4", "x", "manifest-md5.txt", "fetch.txt",
                         "tagmanifest-sha512.txt", "data/a b", "data/\udcff", "data/new/y"])
    )  # fmt: skip
    (bag / name).parent.mkdir(exist_ok=True)
    (bag / name).write_bytes(data.draw(st.binary(max_size=20)))


def _rename(bag: Path, data: st.DataObject) -> None:
    path = _one(bag, data)
    path.rename(path.with_name(data.draw(st.sampled_from(["x", "y.mp4", "bagit.txt", "é"]))))


def _line(bag: Path, data: st.DataObject) -> None:
    path = data.draw(st.sampled_from(sorted(path for path in bag.glob("*.txt"))))
    lines = path.read_bytes().splitlines(keepends=True)
    if lines:
        lines.insert(data.draw(st.integers(0, len(lines))), data.draw(st.sampled_from(lines)))
    path.write_bytes(b"".join(lines))


CHANGES: list[Change] = [_splice, _swap, _remove, _add, _rename, _line]


@settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_a_bag_is_whole_only_when_all_its_bytes_are_what_they_were(
    quick: Path, good: Path, data: st.DataObject
) -> None:
    bag = quick / "changed"
    shutil.copytree(good, bag)
    try:
        for change in data.draw(st.lists(st.sampled_from(CHANGES), max_size=4)):
            if any(bag.glob("*.txt")):
                change(bag, data)
        result = verify(bag, KEY.public)
        assert bool(result.faults) == (contents(bag) != contents(good))
        assert result.known_key or result.faults
        assert all("\n" not in one.path + one.note for one in result.faults)
    finally:
        shutil.rmtree(bag)


def grow(path: Path) -> None:
    with path.open("ab") as file:
        file.truncate(HUGE)


@pytest.mark.parametrize("record", [True, False], ids=["by the record", "by Payload-Oxum"])
@pytest.mark.parametrize("name", [f"data/{NAMES[0]}", "data/new.mp4"])
def test_ten_gigabytes_of_zeros_are_refused_unread(
    bag: Path, record: bool, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not record:
        (bag / "evidence.json").unlink()
    if name == "data/new.mp4":
        # As if it had been renamed: something is missing, so added files are compared with it.
        (bag / "data" / NAMES[1]).unlink()
    grow(bag / name)
    read = 0
    real = os.read

    def counted(handle: int, size: int) -> bytes:
        nonlocal read
        got = real(handle, size)
        read += len(got)
        return got

    monkeypatch.setattr(os, "read", counted)
    tracemalloc.start()
    found = {str(one.kind) for one in verify(bag, KEY.public).faults}
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "oxum" in found and found & {"changed", "added"}
    assert read < 1 << 20 and peak < 8 << 20


def test_a_record_that_lies_of_a_size_is_told(bag: Path) -> None:
    """All sums made anew by somebody who cannot sign; only what the record says is wrong."""
    for name in ("signature-ed25519.txt", "tagmanifest-sha256.txt"):
        (bag / name).unlink()
    record = bag / "evidence.json"
    record.write_text(record.read_text().replace('"bytes": 200', '"bytes": 201', 1))
    assert [str(one.kind) for one in verify(bag).faults] == ["truncated"]


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="no sha256sum here")
def test_sha256sum_reads_every_manifest(bag: Path) -> None:
    for manifest in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        call = ["sha256sum", "--strict", "-c", manifest]
        done = subprocess.run(call, cwd=bag, capture_output=True, text=True, check=False)
        assert done.returncode == 0 and "FAILED" not in done.stdout, done.stderr
    assert bagit.Bag(str(bag)).is_valid()
    (bag / "data" / NAMES[2]).write_bytes(b"other")
    call = ["sha256sum", "-c", "manifest-sha256.txt"]
    assert subprocess.run(call, cwd=bag, capture_output=True, check=False).returncode == 1
    assert not bagit.Bag(str(bag)).is_valid()


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl here")
def test_openssl_verifies_the_signature(bag: Path, tmp_path: Path) -> None:
    """RFC 8410 section 4: a public key as SubjectPublicKeyInfo is these 12 bytes and the key."""
    lines = (bag / "signature-ed25519.txt").read_text().split()
    public, signed = bytes.fromhex(lines[1]), bytes.fromhex(lines[3])
    (tmp_path / "key.der").write_bytes(bytes.fromhex("302a300506032b6570032100") + public)
    (tmp_path / "signed").write_bytes(signed)
    tags = bag / "tagmanifest-sha256.txt"
    call = ["openssl", "pkeyutl", "-verify", "-pubin", "-keyform", "DER", "-rawin",
            "-inkey", str(tmp_path / "key.der"), "-in", str(tags),
            "-sigfile", str(tmp_path / "signed")]  # fmt: skip
    assert subprocess.run(call, capture_output=True, check=False).returncode == 0
    tags.write_bytes(tags.read_bytes() + b"\n")
    assert subprocess.run(call, capture_output=True, check=False).returncode != 0


# FIPS 180-4's messages and their digests, as the examples that NIST publishes beside it have them.
@pytest.mark.parametrize(
    ("message", "digest"),
    [
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
         "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"),
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ],
)  # fmt: skip
def test_the_published_digests_stand_in_the_manifest(
    tmp_path: Path, message: bytes, digest: str
) -> None:
    (tmp_path / "drive").mkdir()
    (tmp_path / "drive" / "ch1-10.mp4").write_bytes(message)
    copy_with(Minutes(), (tmp_path / "drive",), tmp_path / "bag")
    manifest = (tmp_path / "bag" / "manifest-sha256.txt").read_text()
    assert manifest == f"{digest}  data/ch1-10.mp4\n"
