"""Copies for evidence and their verification, held against bagit and sha256sum.

The reference library `bagit` (1.9) and coreutils' sha256sum are outside the project. Version
0.97 is what bagit 1.9 writes though RFC 8493 defines 1.0.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import tracemalloc
import unicodedata
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import bagit
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.evidence_kit import KEY, Minutes, copy_with, verify

from asfound.cli.main import call
from asfound.errors import IntegrityError, NotFound, StorageError, UsageError
from asfound.jobs.evidence_copy import (
    EvidenceCopied,
    offset_text,
)
from asfound.ports.backends.bag_disk import DiskBag, DiskNewBag
from asfound.ports.backends.signatures_ed25519 import Ed25519
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.containers import Containers


def copy(
    paths: tuple[Path, ...], to: Path, *, video: Containers | None = None, **more: object
) -> EvidenceCopied:
    return copy_with(video or AvVideo(), paths, to, **more)  # type: ignore[arg-type]  # (tests name what differs)


def kinds(bag: Path, key: bytes | None = None) -> list[str]:
    return sorted(str(one.kind) for one in verify(bag, key).faults)


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    folder = tmp_path / "drive"
    (folder / "day").mkdir(parents=True)
    # FIPS 180-4's own message, so that the manifest's sum is known from outside.
    (folder / "abc.mp4").write_bytes(b"abc")
    (folder / "day" / "Überland.mp4").write_bytes(b"0123456789" * 1000)
    return folder


@pytest.fixture
def bag(tmp_path: Path, drive: Path) -> Path:
    copy((drive,), tmp_path / "bag")
    return tmp_path / "bag"


def test_a_copy_is_whole_signed_and_the_original_as_it_was(bag: Path, drive: Path) -> None:
    result = verify(bag, KEY.public)
    assert not result.faults and result.known_key and result.files == 2
    assert result.signed_by == KEY.public.hex()
    assert (drive / "abc.mp4").read_bytes() == b"abc"
    manifest = (bag / "manifest-sha256.txt").read_text()
    # FIPS 180-4, example "abc".
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert f"{digest}  data/abc.mp4\n" in manifest
    record = json.loads((bag / "evidence.json").read_text())
    assert [one["who"] for one in record["custody"]] == ["A. Tester"] * 2
    assert record["offset_s"] == 258 and "4 min 18 s fast" in record["offset"]
    assert not (bag.parent / "bag.unfinished").exists()


def test_the_reference_library_and_sha256sum_agree(bag: Path) -> None:
    assert bagit.Bag(str(bag)).is_valid()
    assert bagit.Bag(str(bag)).version_info == (1, 0)
    plain = bag / "data" / "abc.mp4"
    done = subprocess.run(
        ["sha256sum", "-c", "tagmanifest-sha256.txt"], cwd=bag, capture_output=True, text=True
    )
    assert done.returncode == 0 and "FAILED" not in done.stdout
    plain.write_bytes(b"abd")
    assert not bagit.Bag(str(bag)).is_valid()
    assert kinds(bag) == ["changed"]


@pytest.mark.parametrize("checksums", [["sha256"], ["sha512", "md5"]])
def test_bags_of_the_reference_library_are_read(tmp_path: Path, checksums: list[str]) -> None:
    folder = tmp_path / "theirs"
    folder.mkdir()
    (folder / "one.bin").write_bytes(b"one")
    bagit.make_bag(str(folder), checksums=checksums)
    result = verify(folder)
    assert result.version == "0.97" and not result.faults and not result.signed_by
    assert kinds(folder, KEY.public) == ["signature"]
    with (folder / "data" / "one.bin").open("ab") as file:
        file.write(b"x")
    assert kinds(folder) == ["changed", "oxum"]


def _write(name: str, data: bytes) -> Callable[[Path], object]:
    return lambda bag: (bag / name).write_bytes(data)


def _manifest(text: str) -> Callable[[Path], None]:
    def change(bag: Path) -> None:
        with (bag / "manifest-sha256.txt").open("a") as file:
            file.write(text)

    return change


def _unsigned(act: Callable[[Path], object]) -> Callable[[Path], None]:
    """Changed by somebody who made all sums anew, but cannot sign."""

    def change(bag: Path) -> None:
        act(bag)
        for name in ("signature-ed25519.txt", "tagmanifest-sha256.txt"):
            (bag / name).unlink()

    return change


ZERO = "0" * 64
A = "data/abc.mp4"

HOSTILE: list[tuple[str, Callable[[Path], object], set[str]]] = [
    ("changed", _write(A, b"abd"), {"changed"}),
    ("truncated", lambda bag: os.truncate(bag / A, 2), {"truncated", "oxum"}),
    ("emptied", lambda bag: os.truncate(bag / A, 0), {"truncated", "oxum"}),
    ("missing", lambda bag: (bag / A).unlink(), {"missing", "oxum"}),
    ("renamed", lambda bag: (bag / A).rename(bag / "data/x.mp4"), {"renamed"}),
    ("added", _write("data/x.mp4", b"x"), {"added", "oxum"}),
    ("a tag file added", _write("note.txt", b"x"), {"added"}),
    ("traversal", _unsigned(_manifest(f"{ZERO}  data/../../x\n")), {"name"}),
    ("absolute", _unsigned(_manifest(f"{ZERO}  /etc/passwd\n")), {"name"}),
    ("a drive's letter", _unsigned(_manifest(f"{ZERO}  C:/x\n")), {"name"}),
    ("outside the payload", _unsigned(_manifest(f"{ZERO}  bagit.txt\n")), {"manifest"}),
    ("no checksum", _unsigned(_manifest("hello\n")), {"manifest"}),
    ("not UTF-8", _unsigned(lambda bag: _append(bag, b"\xff\xfe\n")), {"encoding"}),
    ("zeros", _unsigned(lambda bag: _append(bag, b"\0" * (1 << 22))), {"manifest"}),
    ("twice", _unsigned(_manifest(f"{ZERO}  {A}\n")), {"duplicate"}),
    ("twins by case in a manifest", _unsigned(_manifest(f"{ZERO}  data/ABC.mp4\n")), {"twin"}),
    ("a link", lambda bag: (bag / "data/x").symlink_to("/etc/passwd"), {"link"}),
    ("a link to a folder", lambda bag: (bag / "data/x").symlink_to("/etc"), {"link"}),
    ("a pipe", lambda bag: os.mkfifo(bag / "data/x"), {"device"}),
    ("twins by case", _write("data/ABC.mp4", b"x"), {"twin", "added", "oxum"}),
    (
        "twins by normal form",
        lambda bag: shutil.copy(
            bag / "data/day/Überland.mp4",
            bag / "data/day" / unicodedata.normalize("NFD", "Überland.mp4"),
        ),
        {"twin", "added", "oxum"},
    ),
    (
        "a name that is not UTF-8",
        lambda bag: Path(os.fsdecode(os.fsencode(bag) + b"/data/\xff")).write_bytes(b"x"),
        {"name"},
    ),
    (
        "a newer version",
        _write("bagit.txt", b"BagIt-Version: 2.0\nTag-File-Character-Encoding: UTF-8\n"),
        {"version"},
    ),
    (
        "another encoding",
        _write("bagit.txt", b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-16\n"),
        {"encoding"},
    ),
    ("no bag", lambda bag: (bag / "bagit.txt").unlink(), {"missing"}),
    ("oxum lies", _unsigned(_write("bag-info.txt", b"Payload-Oxum: 1.1\n")), {"oxum"}),
    ("fetch", _unsigned(_write("fetch.txt", b"http://x.invalid 3 data/y\n")), {"fetch"}),
    ("no manifest", _unsigned(lambda bag: (bag / "manifest-sha256.txt").unlink()),
     {"manifest", "added"}),
    ("sums anew", _write("tagmanifest-sha256.txt", b""), {"signature"}),
]  # fmt: skip


def _append(bag: Path, data: bytes) -> None:
    with (bag / "manifest-sha256.txt").open("ab") as file:
        file.write(data)


@pytest.mark.parametrize(("what", "act", "want"), HOSTILE, ids=[one[0] for one in HOSTILE])
def test_what_is_wrong_is_said(
    bag: Path, what: str, act: Callable[[Path], object], want: set[str]
) -> None:
    act(bag)
    assert set(kinds(bag)) == want, what
    assert all("\n" not in one.path + one.note for one in verify(bag).faults)


def test_a_wrong_key_is_refused(bag: Path) -> None:
    assert kinds(bag, Ed25519().pair(b"x" * 32).public) == ["key"]


def test_all_sums_made_anew_by_somebody_else_need_their_key(bag: Path) -> None:
    other = Ed25519().pair(b"x" * 32)
    (bag / A).write_bytes(b"abd")
    manifest = bag / "manifest-sha256.txt"
    was, now = [hashlib.sha256(one).hexdigest() for one in (b"abc", b"abd")]
    manifest.write_text(manifest.read_text().replace(was, now))
    tags = bag / "tagmanifest-sha256.txt"
    lines = [line.split("  ")[1] for line in tags.read_text().splitlines()]
    made = "".join(
        f"{hashlib.sha256((bag / name).read_bytes()).hexdigest()}  {name}\n" for name in lines
    )
    tags.write_text(made)
    signed = Ed25519().sign(other.secret, made.encode()).hex()
    (bag / "signature-ed25519.txt").write_text(
        f"public: {other.public.hex()}\nsignature: {signed}\n"
    )
    assert kinds(bag) == [] and not verify(bag).known_key
    assert kinds(bag, KEY.public) == ["key"]


@settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_no_byte_of_a_bag_can_be_changed_unseen(bag: Path, data: st.DataObject) -> None:
    files = sorted(path for path in bag.rglob("*") if path.is_file())
    path = data.draw(st.sampled_from(files))
    good = path.read_bytes()
    at = data.draw(st.integers(0, len(good) - 1))
    with_what = data.draw(st.sampled_from([b"", b"\0", b"\n", b"../", b"\xff", b"\xcc\x81"]))
    bad = good[:at] + with_what + good[at + 1 :]
    try:
        path.write_bytes(bad)
        result = verify(bag, KEY.public)
        assert bool(result.faults) == (bad != good)
    finally:
        path.write_bytes(good)


@pytest.mark.parametrize("offset", [float("nan"), float("inf"), -1e18, 21 * 366 * 86_400.0])
def test_an_offset_that_no_clock_has_is_refused(tmp_path: Path, drive: Path, offset: float) -> None:
    with pytest.raises(UsageError, match="--offset: no recorder's clock is that far off"):
        copy((drive,), tmp_path / "bag", offset_s=offset)
    assert not (tmp_path / "bag").exists()


def test_nothing_is_written_over(tmp_path: Path, drive: Path) -> None:
    (tmp_path / "bag").mkdir()
    with pytest.raises(UsageError, match="left alone"):
        copy((drive,), tmp_path / "bag")
    (tmp_path / "other.unfinished").mkdir()
    (tmp_path / "other.unfinished" / "mine").write_bytes(b"mine")
    with pytest.raises(UsageError, match="not ours"):
        copy((drive,), tmp_path / "other")
    assert (tmp_path / "other.unfinished" / "mine").read_bytes() == b"mine"


def test_a_killed_copy_is_cleared_and_made_anew(
    tmp_path: Path, drive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        # Killed: nothing of the program runs after the first file.
        patched.setattr(DiskNewBag, "write", _killed)
        patched.setattr(DiskNewBag, "drop", lambda self: os.close(self._lock))
        with pytest.raises(KeyboardInterrupt):
            copy((drive,), tmp_path / "bag")
    assert not (tmp_path / "bag").exists()
    assert copy((drive,), tmp_path / "bag").removed == 2
    assert not verify(tmp_path / "bag").faults


def _killed(*_: object) -> None:
    raise KeyboardInterrupt


def test_a_copy_that_runs_is_left_to_it(tmp_path: Path, drive: Path) -> None:
    running = DiskNewBag(tmp_path / "bag")
    running.begin()
    with pytest.raises(StorageError, match="another copy is running"):
        copy((drive,), tmp_path / "bag")
    running.drop()
    assert not (tmp_path / "bag.unfinished").exists()


@pytest.mark.parametrize("at", range(1, 9))
def test_a_full_disk_leaves_no_bag(
    tmp_path: Path, drive: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    calls = 0
    real = os.fsync

    def full(handle: int) -> None:
        nonlocal calls
        calls += 1
        if calls == at:
            raise OSError(28, "No space left on device")
        real(handle)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StorageError, match="full"):
        copy((drive,), tmp_path / "bag")
    assert [one.name for one in tmp_path.iterdir()] == ["drive"]


def test_an_original_that_changes_meanwhile_is_refused(
    tmp_path: Path, drive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = DiskNewBag._copied

    def growing(self: DiskNewBag, handle: int, source: Path, target: Path) -> str:
        made = real(self, handle, source, target)
        with source.open("ab") as file:
            file.write(b"more")
        return made

    monkeypatch.setattr(DiskNewBag, "_copied", growing)
    with pytest.raises(IntegrityError, match="changed while"):
        copy((drive,), tmp_path / "bag")


def test_names_that_somebody_takes_for_the_same_are_told_apart(tmp_path: Path) -> None:
    folder = tmp_path / "drive"
    folder.mkdir()
    for name in ("a.mp4", "A.mp4", "back\\slash.mp4", "50%.mp4", "line\nbreak.mp4"):
        (folder / name).write_bytes(name.encode())
    made = copy((folder,), tmp_path / "bag")
    assert made.files == 5
    assert not verify(tmp_path / "bag").faults and bagit.Bag(str(tmp_path / "bag")).is_valid()


def test_without_a_time_a_file_is_left_out_by_name(tmp_path: Path, drive: Path) -> None:
    with pytest.raises(NotFound, match="2 cannot be placed"):
        copy((drive,), tmp_path / "bag", everything=False)


def test_the_offset_is_recorder_minus_true() -> None:
    # Recorder 14:07:30, true 14:03:12: +4 min 18 s, fast (by hand).
    assert "4 min 18 s fast" in offset_text((14 * 60 + 7) * 60 + 30 - ((14 * 60 + 3) * 60 + 12.0))
    assert "4 min 18 s slow" in offset_text(-258)
    assert "not compared" in offset_text(None)


def test_a_copy_that_comes_back_changed_is_refused(
    tmp_path: Path, drive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def wrong(self: DiskNewBag, handle: int, source: Path, target: Path) -> str:
        real(self, handle, source, target)
        return ZERO

    real = DiskNewBag._copied
    monkeypatch.setattr(DiskNewBag, "_copied", wrong)
    with pytest.raises(IntegrityError, match="came back changed"):
        copy((drive,), tmp_path / "bag")


def test_the_commands(tmp_path: Path, drive: Path, capsys: pytest.CaptureFixture[str]) -> None:
    to = tmp_path / "bag"
    asked = ["evidence", "copy", str(drive), "--to", str(to), "--vehicle", "217", "--why", "claim"]
    span = ["--from", "2026-11-20T08:00Z", "--until", "2026-11-20T09:00Z", "--by", "A. Tester"]
    home = ["--home", str(tmp_path / "home")]
    assert call([*asked, *span, *home, "--all", "--offset", "258"]) == 0
    key = json.loads((to / "evidence.json").read_text())["offset_s"]
    assert key == 258
    public = capsys.readouterr().out.split("signed with key ")[1].split(":")[0].replace("\n", "")
    assert call(["verify", str(to), "--key", public, "--json"]) == 0
    shown = json.loads(capsys.readouterr().out)
    assert shown["format"] == "asfound-verify/1" and shown["whole"] and shown["known_key"]
    (to / A).write_bytes(b"abd")
    assert call(["verify", str(to)]) == 9
    said = capsys.readouterr()
    assert f"changed: {A}" in said.out and said.err.count("\n") == 1
    assert call([*asked, *span, *home, "--all"]) == 2
    assert call(["verify", str(tmp_path / "nowhere")]) == 8
    assert call(["verify", str(to), "--key", "z" * 64]) == 11


@pytest.mark.parametrize(("offset_s", "want"), [(0.0, ["10", "11"]), (120.0, ["12", "13"])])
def test_files_that_overlap_the_true_span_are_copied(
    tmp_path: Path, offset_s: float, want: list[str]
) -> None:
    folder = tmp_path / "minutes"
    folder.mkdir()
    for minute in range(8, 16):
        (folder / f"ch1-{minute:02d}.mp4").write_bytes(b"abc")
    span = [datetime(2026, 11, 20, 8, minute, 30, tzinfo=UTC) for minute in (10, 11)]
    copy(
        (folder,), tmp_path / "bag", video=Minutes(),
        everything=False, start=span[0], end=span[1], offset_s=offset_s,
    )  # fmt: skip
    # A clock 120 s fast stamps what happened at 08:10 with 08:12.
    assert sorted(one.stem[-2:] for one in (tmp_path / "bag" / "data").iterdir()) == want


def test_a_known_time_is_enough_and_an_unknown_channel_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "minutes"
    (folder / "ch3").mkdir(parents=True)
    names = ("front-10.mp4", "front-14.mp4", "never-10.mp4", "ch3/10.mp4")
    for name in names:
        (folder / name).write_bytes(b"abc")
    video = Minutes()
    video.find = lambda path: [folder / name for name in names]  # type: ignore[method-assign]  # (files in two folders)
    span = [datetime(2026, 11, 20, 8, minute, tzinfo=UTC) for minute in (10, 11)]
    made = copy(
        (folder,), tmp_path / "bag", video=video,
        everything=False, start=span[0], end=span[1], offset_s=0.0,
    )  # fmt: skip
    assert made.files == 2 and made.no_channel == ("data/front-10.mp4",)
    record = json.loads((tmp_path / "bag" / "evidence.json").read_text())
    told = {one["path"]: (one["channels"], one["unclear"]) for one in record["files"]}
    assert [one["channel"] for one in told["data/front-10.mp4"][0]] == [None]
    assert "which channel it is cannot be told" in told["data/front-10.mp4"][1][0]
    assert [one["channel"] for one in told["data/ch3/10.mp4"][0]] == [3]
    # Without a time it may lie in the span or not: only that is left out, by its name.
    assert len(made.left_out) == 1 and "never-10.mp4" in made.left_out[0]


def test_a_name_that_does_not_fit_is_told_even_when_its_time_lies_outside(tmp_path: Path) -> None:
    folder = tmp_path / "minutes"
    folder.mkdir()
    for name in ("ch1-10.mp4", "front-30.mp4"):
        (folder / name).write_bytes(b"abc")
    span = [datetime(2026, 11, 20, 8, minute, tzinfo=UTC) for minute in (10, 11)]
    made = copy(
        (folder,), tmp_path / "bag", video=Minutes(), pattern="ch{channel}-{any}",
        everything=False, start=span[0], end=span[1], offset_s=0.0,
    )  # fmt: skip
    assert made.files == 1 and not made.no_channel
    assert len(made.left_out) == 1 and "does not fit the pattern" in made.left_out[0]


def test_a_folder_swapped_for_a_link_after_it_was_listed_is_not_followed(
    tmp_path: Path, bag: Path
) -> None:
    """Where the swap happens: after the listing, before the file is opened."""
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "Überland.mp4").write_bytes((bag / "data/day/Überland.mp4").read_bytes())
    for part in ("data/day", "data", ""):
        opened = DiskBag(bag)
        names = [one.name for one in opened.entries()]
        assert "data/day/Überland.mp4" in names
        (bag / part).rename(tmp_path / "aside")
        (bag / part).symlink_to(outside if part == "data/day" else tmp_path / "aside")
        try:
            with pytest.raises((IntegrityError, UsageError), match=r"in its place|is a link"):
                opened.hashes("data/day/Überland.mp4", ("sha256",))
            with pytest.raises((IntegrityError, UsageError)):
                next(opened.lines("data/day/Überland.mp4", 100))
        finally:
            (bag / part).unlink()
            (tmp_path / "aside").rename(bag / part)
    assert not verify(bag).faults


def test_another_folder_or_a_device_in_its_place_is_not_read(tmp_path: Path, bag: Path) -> None:
    opened = DiskBag(bag)
    assert opened.read("bagit.txt", 5) == b"BagIt"
    shutil.copytree(bag, tmp_path / "other")
    bag.rename(tmp_path / "aside")
    (tmp_path / "other").rename(bag)
    with pytest.raises(IntegrityError, match="in its place"):
        opened.read("bagit.txt", 5)
    (bag / A).unlink()
    os.mkfifo(bag / A)
    with pytest.raises(IntegrityError, match="in its place"):
        DiskBag(bag).hashes(A, ("sha256",))


def test_memory_does_not_grow_with_the_files(tmp_path: Path) -> None:
    peaks = []
    for size in (8 << 20, 64 << 20):
        source = tmp_path / f"{size}.mp4"
        with source.open("wb") as file:
            file.truncate(size)
        tracemalloc.start()
        copy((source,), tmp_path / f"bag{size}")
        copied = tracemalloc.get_traced_memory()[1]
        tracemalloc.reset_peak()
        assert not verify(tmp_path / f"bag{size}").faults
        peaks.append((copied, tracemalloc.get_traced_memory()[1]))
        tracemalloc.stop()
    # Pieces under way bound it; 16 MiB is a quarter of the larger file.
    assert max(peaks[0] + peaks[1]) < 16 << 20
