"""Files for players beside the evidence: marked as made, and the evidence stays what it is."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import bagit
import pytest
from tests.evidence_kit import KEY, Minutes, copy_with, verify
from tests.ports.test_video_av_cut import record

from asfound.cli.main import call
from asfound.errors import StorageError
from asfound.jobs.evidence_derive import NOTE
from asfound.ports.backends.video_av_remux import AvRemuxer
from asfound.ports.remux import Remuxed


class Half:
    """Remuxes files that hold "good" and fails at others, having written something."""

    def remux(self, path: Path, out: Path) -> Remuxed:
        out.write_bytes(b"made of " + path.read_bytes())
        if b"full" in path.read_bytes():
            raise StorageError(f"{out}: the disk is full")
        if b"good" not in path.read_bytes():
            return AvRemuxer().remux(path, out.with_suffix(".x"))
        return Remuxed("a tool", ("stream 1 (audio, odd)",))


def drive_of(folder: Path, **files: bytes) -> Path:
    (folder / "drive").mkdir()
    for name, data in files.items():
        (folder / "drive" / f"{name}-10.mp4").write_bytes(data)
    return folder / "drive"


def test_what_was_made_is_marked_and_what_could_not_be_is_told(tmp_path: Path) -> None:
    drive = drive_of(tmp_path, ch1=b"good", ch2=b"odd")
    made = copy_with(Minutes(), (drive,), tmp_path / "bag", remuxer=Half())
    bag = tmp_path / "bag"
    assert not verify(bag, KEY.public).faults and bagit.Bag(str(bag)).is_valid()
    assert made.files == 2 and made.remuxed == 1
    assert made.size == len(b"good") + len(b"odd")
    assert len(made.not_remuxed) == 1 and made.not_remuxed[0].startswith("data/ch2-10.mp4: ")
    assert "cannot be remuxed" in made.not_remuxed[0] and "unfinished" not in made.not_remuxed[0]
    first, second = json.loads((bag / "evidence.json").read_text())["files"]
    derived = first["derived"]
    assert derived["made_from"] == "data/ch1-10.mp4" == first["path"]
    assert derived["made_from_sha256"] == first["sha256"] == hashlib.sha256(b"good").hexdigest()
    assert derived["tool"] == "a tool" and derived["note"] == NOTE
    assert derived["streams_left_out"] == ["stream 1 (audio, odd)"]
    there = (bag / derived["path"]).read_bytes()
    assert derived["path"] == "data/ch1-10.mp4.derived.mp4" and there == b"made of good"
    assert derived["sha256"] == hashlib.sha256(there).hexdigest()
    assert "derived" not in second and "cannot be remuxed" in second["not_derived"]
    assert (bag / "data/ch1-10.mp4").read_bytes() == b"good"
    assert {one.name for one in (bag / "data").iterdir()} == {
        "ch1-10.mp4", "ch2-10.mp4", "ch1-10.mp4.derived.mp4"
    }  # fmt: skip


def test_an_original_of_that_name_keeps_it(tmp_path: Path) -> None:
    drive = drive_of(tmp_path, ch1=b"good")
    (drive / "ch1-10.mp4.derived.mp4").write_bytes(b"good, too")

    class Two(Minutes):
        def find(self, path: Path) -> list[Path]:
            return sorted(path.iterdir(), reverse=True)

        def facts(self, path: Path):  # type: ignore[no-untyped-def]  # (as that of Minutes)
            return super().facts(path.with_name("ch1-10.mp4"))

    copy_with(Two(), (drive,), tmp_path / "bag", remuxer=Half())
    data = tmp_path / "bag" / "data"
    assert (data / "ch1-10.mp4.derived.mp4").read_bytes() == b"good, too"
    assert (data / "ch1-10.mp4.derived-2.mp4").read_bytes() == b"made of good"


def test_a_full_disk_ends_the_copy(tmp_path: Path) -> None:
    drive = drive_of(tmp_path, ch1=b"full")
    with pytest.raises(StorageError, match="full"):
        copy_with(Minutes(), (drive,), tmp_path / "bag", remuxer=Half())
    assert [one.name for one in tmp_path.iterdir()] == ["drive"]


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "drive").mkdir()
    source = record(tmp_path / "drive" / "ch1.mkv", sound="")
    (tmp_path / "drive" / "ch2.mkv").write_bytes(b"no recording")
    before = source.read_bytes()
    asked = ["evidence", "copy", str(tmp_path / "drive"), "--to", str(tmp_path / "bag"),
             "--vehicle", "217", "--why", "claim", "--by", "A. Tester", "--all", "--remux",
             "--from", "2026-03-01T08:00Z", "--until", "2026-03-01T09:00Z",
             "--home", str(tmp_path / "home")]  # fmt: skip
    assert call(asked) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "1 MP4 made" in said and "no MP4 beside data/ch2.mkv" in said
    assert source.read_bytes() == before == (tmp_path / "bag/data/ch1.mkv").read_bytes()
    assert call(["verify", str(tmp_path / "bag")]) == 0
