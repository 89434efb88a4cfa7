"""A drive full of what no recorder should write: each file ends as a finding, in one line each."""

from __future__ import annotations

import json
import os
import socket
import struct
from datetime import UTC, datetime
from pathlib import Path

import pytest

from asfound.calc.plain_text import unseen
from asfound.cli.main import call
from asfound.demo.footage import Camera, Coding, Drive, film
from asfound.errors import ExitCode

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
SMALL = Camera(1, "ROAD", "road", 160, 96, 10)


def changed(data: bytes, box: bytes, offset: int, value: int) -> bytes:
    """With another 32-bit number in a box of ISO/IEC 14496-12, counted from its name."""
    at = data.index(box) + offset
    return data[:at] + struct.pack(">I", value) + data[at + 4 :]


@pytest.fixture(scope="module")
def drive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("made")
    [good] = (path.read_bytes() for path in film(Drive(4, START, 1, (SMALL,)), made))
    coding = Coding(suffix=".ts")
    [stream] = (
        path.read_bytes()
        for path in film(
            Drive(4, START, 1, (Camera(2, "ROAD", "road", 160, 96, 10, coding=coding),)), made
        )
    )
    folder = tmp_path_factory.mktemp("drive")
    # (name, bytes, what it ends as; "" where the name alone is odd)
    for name, data in {
        "ch1 zero.mp4": b"",
        "ch1 text.mp4": b"no recording\n" * 99,
        "ch1 noise.ts": bytes(range(256)) * 800,
        "ch1 sync.ts": b"\x47" * 400_000,
        "ch1 list.mp4": b"ffconcat version 1.0\nfile /etc/passwd\n",
        "ch1 playlist.ts": b"#EXTM3U\n#EXTINF:1,\nfile:///etc/passwd\n",
        "ch1 huge-box.mp4": struct.pack(">I4s", 0xFFFFFFF0, b"moov") + bytes(999),
        "ch1 huge-size.mp4": struct.pack(">I4sQ", 1, b"ftyp", 1 << 62) + bytes(999),
        "ch1 huge-element.mkv": b"\x1a\x45\xdf\xa3\x01" + b"\xff" * 7 + bytes(999),
        "ch1 samples.mp4": changed(good, b"stsz", 12, 0x7FFFFFFF),
        "ch1 times.mp4": changed(good, b"stts", 12, 0x7FFFFFFF),
        "ch1 scale.mp4": changed(good, b"mdhd", 16, 0),
        "ch1 length.mp4": changed(good, b"mdhd", 20, 0xFFFFFFFE),
        "ch1 no-index.mp4": good[: good.index(b"moov") - 4],
        "ch1 nal.h264": b"\0\0\0\1\x67" + bytes(range(256)) * 300,
        "ch1 kind.avi": good,
        "ch2 kind.mkv": stream,
        "ch1 new\nline.mp4": good,
        "ch1 \x1b[2J[red]<b>&\u202e.mp4": good,
        "ch1 \udcff\udcfe.mp4": good,
        "=ch1+cmd|' .mp4": good,
        "-ch1.mp4": good,
        f"ch1 {'x' * 240}.mp4": good,
    }.items():
        (folder / name).write_bytes(data)
    for name, size in (("ch1 sparse.mp4", 8 << 30), ("ch1 sparse.ts", 4 << 30)):
        (folder / name).touch()
        os.truncate(folder / name, size)
    os.mkfifo(folder / "ch1 pipe.mp4")
    (folder / "round").symlink_to(folder)
    (folder / "one").symlink_to("other")
    (folder / "other").symlink_to("one")
    (folder / "ch1 device.mp4").symlink_to("/dev/zero")
    with socket.socket(socket.AF_UNIX) as made_socket:
        made_socket.bind(os.path.relpath(folder / "ch1 socket.mp4"))
    return folder


FILES = 25
"""Those written; pipes, sockets, devices and links are none."""


def test_each_file_is_a_finding_and_nothing_else_happens(
    drive: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    arguments = ["prove", str(drive), "--home", str(tmp_path / "home"), "--workers", "2"]
    out_files = [f"--{name}={tmp_path / name}" for name in ("strip", "sheet", "csv")]
    assert call([*arguments, *out_files]) == ExitCode.FINDINGS
    out, err = capfd.readouterr()
    assert err == ""
    assert "Traceback" not in out and unseen(out, but="\n") == ""
    assert call([*arguments, "--json"]) == ExitCode.FINDINGS
    made = json.loads(capfd.readouterr().out)
    assert len(made["recordings"]) == FILES
    found = {
        one["file"].removeprefix(f"{drive}/"): {finding["kind"] for finding in one["findings"]}
        for one in made["recordings"]
    }
    damaged = (
        "text.mp4", "noise.ts", "sync.ts", "list.mp4", "playlist.ts", "huge-size.mp4",
        "huge-element.mkv", "samples.mp4", "no-index.mp4", "sparse.mp4", "sparse.ts",
    )  # fmt: skip
    for name in damaged:
        assert found[f"ch1 {name}"] == {"damaged"}, name
    assert found["ch1 zero.mp4"] == {"empty"}
    assert found["ch1 kind.avi"] == found["ch2 kind.mkv"] == {"wrong-extension"}
    assert "root:" not in json.dumps(made), "lists never lead to other files"
    good = [name for name, kinds in found.items() if not kinds]
    assert {"-ch1.mp4", "=ch1+cmd|' .mp4", "ch1 new⟨U+000A⟩line.mp4"} <= set(good)


def test_coverage_places_what_it_can_and_says_the_rest(
    drive: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "log.csv"
    log.write_text("on,off\n2026-03-01T08:00:00Z,2026-03-01T08:00:01Z\n")
    code = call(["coverage", str(drive), "--ignition", str(log), "--json"])
    out, err = capfd.readouterr()
    assert code == ExitCode.FINDINGS and err == ""
    made = json.loads(out)
    assert sum("not a recording that can be opened" in line for line in made["unclear"]) >= 9
    assert not any("\n" in line for line in made["unclear"])


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("ch1 pipe.mp4", ExitCode.NOT_FOUND),
        ("ch1 device.mp4", ExitCode.NOT_FOUND),
        ("ch1 socket.mp4", ExitCode.NOT_FOUND),
        ("one", ExitCode.NOT_FOUND),
        ("no\nsuch.mp4", ExitCode.NOT_FOUND),
    ],
)
def test_what_is_no_file_is_one_line(
    drive: Path, tmp_path: Path, name: str, code: int, capfd: pytest.CaptureFixture[str]
) -> None:
    clip = str(tmp_path / "clip.mp4")
    log = tmp_path / "log.csv"
    log.write_text("on,off\n2026-03-01T08:00:00Z,2026-03-01T08:00:01Z\n")
    for arguments in (
        ["prove", str(drive / name), "--home", str(tmp_path)],
        ["coverage", str(drive / name), "--ignition", str(log)],
        ["cut", str(drive / name), clip, "--from", "0", "--to", "1"],
    ):
        assert call(arguments) == code
        out, err = capfd.readouterr()
        assert out == "" and err.count("\n") == 1 and err.startswith("asfound: ")


def test_an_empty_path_is_not_the_current_folder(
    drive: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """As a script gives it whose variable was never set."""
    monkeypatch.chdir(drive)
    assert call(["prove", ""]) == ExitCode.USAGE
    assert capfd.readouterr().err.count("\n") == 1
