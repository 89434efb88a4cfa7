"""Real files of every container: facts, times, damage; nothing on stderr, nothing written.

Outside check: what the `ffmpeg` program of the package imageio-ffmpeg says about the same file.
"""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import imageio_ffmpeg
import numpy as np
import pytest

from asfound.demo.footage import Camera, Coding, Drive, film, write_together
from asfound.errors import NotFound, RecordingError
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.video import Frame

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
FAST = (("preset", "ultrafast"), ("crf", "30"))
VIDEO = AvVideo()

CODINGS = {
    "mp4": Coding(options=FAST),
    "mov": Coding(options=FAST, suffix=".mov"),
    "mkv": Coding(options=FAST, suffix=".mkv"),
    "ts": Coding(options=FAST, suffix=".ts"),
    "h264": Coding(options=FAST, suffix=".h264"),
    "avi-mpeg4": Coding(codec="mpeg4", options=(), bit_rate=600_000, suffix=".avi"),
    "avi-mjpeg": Coding(codec="mjpeg", options=(), bit_rate=2_000_000, suffix=".avi"),
}


def make(folder: Path, name: str, seconds: float = 3.0) -> Path:
    camera = Camera(1, "ROAD", "road", 320, 192, 12, coding=CODINGS[name])
    [path] = film(Drive(5, START, seconds, (camera,)), folder)
    return path


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return {name: make(tmp_path_factory.mktemp(name), name) for name in CODINGS}


def ffmpeg_says(path: Path) -> str:
    program = imageio_ffmpeg.get_ffmpeg_exe()
    done = subprocess.run(
        [program, "-hide_banner", "-i", str(path)], capture_output=True, text=True, check=False
    )
    return done.stderr


@pytest.mark.parametrize("name", CODINGS)
def test_facts_agree_with_ffmpeg(files: dict[str, Path], name: str) -> None:
    facts = VIDEO.facts(files[name])
    [stream] = facts.streams
    said = ffmpeg_says(files[name])
    assert f"Video: {stream.codec}" in said
    assert f"{stream.width}x{stream.height}" in said
    if name != "h264":  # a bare stream: ffmpeg guesses 25 where nothing is stated
        fps = re.search(r"([\d.]+) fps", said)
        length = re.search(r"Duration: 00:00:([\d.]+)", said)
        assert fps and stream.rate_fps == pytest.approx(float(fps[1]), rel=0.01)
        assert length and stream.duration_s == pytest.approx(float(length[1]), abs=0.1)
    assert facts.size_bytes == files[name].stat().st_size
    assert facts.audio_streams == 0


@pytest.mark.parametrize("name", CODINGS)
def test_bit_rate_is_what_the_file_weighs(files: dict[str, Path], name: str) -> None:
    [stream] = VIDEO.facts(files[name]).streams
    assert stream.bitrate_bps is not None
    # The container adds a little; MPEG-TS adds 4 bytes in 188 and fills packets up.
    ratio = stream.bitrate_bps * 3.0 / (8 * files[name].stat().st_size)
    assert 0.6 < ratio <= 1.05


@pytest.mark.parametrize("name", CODINGS)
def test_every_picture_comes_once_in_order(files: dict[str, Path], name: str) -> None:
    frames = list(VIDEO.frames(files[name], 0))
    assert len(frames) == 36
    assert [frame.number for frame in frames] == list(range(36))
    seconds = np.array([frame.second for frame in frames])
    assert seconds == pytest.approx(np.arange(36) / 12, abs=0.002)
    assert frames[0].key and not any(frame.damaged for frame in frames)
    assert frames[0].luma.shape == (180, 320)
    assert frames[0].full is not None and frames[0].full.shape == (192, 320)
    assert all((frame.full is not None) == frame.key for frame in frames)
    total = sum(frame.packet_bytes for frame in frames)
    assert frames[-1].bytes_before == total
    assert total == pytest.approx(files[name].stat().st_size, rel=0.4)


def test_sampling_keeps_keys_and_the_last(files: dict[str, Path]) -> None:
    frames = list(VIDEO.frames(files["mp4"], 0, 0.5))
    seconds = [frame.second for frame in frames]
    assert seconds == pytest.approx([0, 0.5, 1, 1.5, 2, 2.5, 35 / 12], abs=0.01)
    assert [frame.key for frame in frames] == [True, False, True, False, True, False, False]


def test_start_is_the_container_time_where_it_has_a_zone(files: dict[str, Path]) -> None:
    # ISO/IEC 14496-12: creation_time is UTC; Matroska DateUTC likewise.
    assert VIDEO.facts(files["mp4"]).start == START
    assert VIDEO.facts(files["mkv"]).start == START
    assert VIDEO.facts(files["ts"]).start is None


@pytest.mark.parametrize(("name", "limited"), [("mp4", True), ("avi-mjpeg", False)])
def test_range_is_known(files: dict[str, Path], name: str, limited: bool) -> None:
    # JFIF pictures are full range; H.264 without a flag is limited (ITU-T H.264 table E.2.1).
    assert next(VIDEO.frames(files[name], 0)).limited is limited


@pytest.mark.parametrize("name", ["mp4", "ts", "h264", "avi-mpeg4"])
def test_stills_come_from_where_they_are_asked(files: dict[str, Path], name: str) -> None:
    stills = dict(VIDEO.stills(files[name], 0, [0.5, 2.5]))
    assert list(stills) == [0.5, 2.5]
    assert all(pixels.shape == (192, 320, 3) for pixels in stills.values())
    # The burned-in clock differs, and the road has moved.
    assert (stills[0.5] != stills[2.5]).mean() > 0.2


def test_streams_of_one_file(tmp_path: Path) -> None:
    cameras = (
        Camera(1, "ROAD", "road", 320, 192, coding=CODINGS["mkv"]),
        Camera(2, "YARD", "parked-day", 160, 96, coding=CODINGS["mkv"]),
    )
    path = write_together(tmp_path / "all.mkv", Drive(5, START, 1.0, cameras))
    facts = VIDEO.facts(path)
    assert [(s.index, s.width, s.height) for s in facts.streams] == [(0, 320, 192), (1, 160, 96)]
    assert next(VIDEO.frames(path, 1)).luma.shape == (90, 160)
    with pytest.raises(NotFound, match="no video stream 2"):
        next(VIDEO.frames(path, 2))


def decode(path: Path) -> tuple[list[Frame], str]:
    frames: list[Frame] = []
    try:
        frames.extend(VIDEO.frames(path, 0))
    except RecordingError as error:
        return frames, str(error)
    return frames, ""


def flip(data: bytes) -> bytes:
    """Invert bytes in the third quarter."""
    out = bytearray(data)
    for at in range(len(out) // 2, len(out) * 3 // 4, len(out) // 80):
        out[at] ^= 0xFF
    return bytes(out)


@pytest.mark.parametrize("name", ["mp4", "mkv", "ts", "h264", "avi-mpeg4"])
def test_damage_inside_is_told_and_decoding_goes_on(
    files: dict[str, Path], name: str, tmp_path: Path
) -> None:
    path = tmp_path / files[name].name
    path.write_bytes(flip(files[name].read_bytes()))
    frames, broke = decode(path)
    assert any(frame.damaged for frame in frames) or broke
    assert not any(frame.damaged for frame in frames if frame.second < 1.0)


@pytest.mark.parametrize("name", ["ts", "avi-mpeg4", "mkv"])
def test_a_missing_end_is_told(files: dict[str, Path], name: str, tmp_path: Path) -> None:
    path = tmp_path / files[name].name
    data = files[name].read_bytes()
    path.write_bytes(data[: int(len(data) * 0.6) // 188 * 188 + 100])
    assert VIDEO.facts(path).cut_off
    assert not VIDEO.facts(files[name]).cut_off


NOT_VIDEO: dict[str, Callable[[Path], object]] = {
    "text": lambda path: path.write_text("Gone for tea.\n" * 400),
    "random": lambda path: path.write_bytes(np.random.default_rng(1).bytes(40_000)),
    "playlist": lambda path: path.write_text("#EXTM3U\n#EXTINF:3,\n/etc/hostname\n"),
    "list": lambda path: path.write_text("ffconcat version 1.0\nfile /etc/hostname\n"),
    "one byte": lambda path: path.write_bytes(b"\0"),
}


@pytest.mark.parametrize("name", NOT_VIDEO)
def test_what_is_no_recording_is_refused_in_one_line(tmp_path: Path, name: str) -> None:
    path = tmp_path / "ch1.mp4"
    NOT_VIDEO[name](path)
    with pytest.raises(RecordingError, match=r"ch1\.mp4: ") as caught:
        facts = VIDEO.facts(path)
        assert facts.streams
        list(VIDEO.frames(path, 0))
    assert "\n" not in str(caught.value)


def test_an_mp4_without_its_index_is_refused(files: dict[str, Path], tmp_path: Path) -> None:
    path = tmp_path / "ch1.mp4"
    path.write_bytes(files["mp4"].read_bytes()[:8000])
    with pytest.raises(RecordingError, match="not a recording that can be opened"):
        VIDEO.facts(path)


def test_a_file_without_bytes_has_no_streams(tmp_path: Path) -> None:
    path = tmp_path / "ch1.mp4"
    path.touch()
    assert VIDEO.facts(path).streams == ()


def test_a_wrong_suffix_does_not_matter(files: dict[str, Path], tmp_path: Path) -> None:
    path = tmp_path / "ch1.dat"
    path.write_bytes(files["mkv"].read_bytes())
    assert VIDEO.facts(path).streams[0].codec == "h264"
    assert list(VIDEO.find(tmp_path)) == [path]


def test_a_colon_in_a_name_is_part_of_the_name(files: dict[str, Path], tmp_path: Path) -> None:
    path = tmp_path / "http:ch1.mp4"
    path.write_bytes(files["mp4"].read_bytes())
    assert VIDEO.facts(path).streams


def test_folders_are_searched_in_order_and_other_files_left(
    files: dict[str, Path], tmp_path: Path
) -> None:
    for name in ("b/ch2.mp4", "a/ch1.ts", "notes.txt", "c.bin"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(b"nothing here")
    assert list(VIDEO.find(tmp_path)) == [tmp_path / "a/ch1.ts", tmp_path / "b/ch2.mp4"]
    with pytest.raises(RecordingError, match="no recordings in this folder"):
        VIDEO.find(_empty(tmp_path / "none"))
    with pytest.raises(NotFound, match="no such file or folder"):
        VIDEO.find(tmp_path / "elsewhere")


def _empty(folder: Path) -> Path:
    folder.mkdir()
    return folder


def test_nothing_is_printed_and_nothing_is_written(
    files: dict[str, Path], tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "ch1.h264"
    data = flip(files["h264"].read_bytes())
    path.write_bytes(data)
    VIDEO.facts(path)
    decode(path)
    assert capfd.readouterr() == ("", "")
    assert path.read_bytes() == data
    assert list(tmp_path.iterdir()) == [path]


def test_pipes_and_devices_are_refused_at_once(tmp_path: Path) -> None:
    # POSIX: opening a FIFO for reading waits for a writer; /dev/zero never ends.
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/zero")):
        with pytest.raises(NotFound, match="a pipe or device"):
            AvVideo().find(path)
