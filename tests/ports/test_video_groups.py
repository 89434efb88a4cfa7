"""One contract over every container that can be written: facts, groups of packets, key pictures.

Outside check: the decoder itself. Decoding every picture (frames) must show the same pictures at
the same seconds as the groups' packets say. Sound levels: a full-scale sine has an RMS of
-3.01 dB re full scale (sqrt(1/2)).
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import av
import numpy as np
import pytest

from asfound.demo.footage import Camera, Coding, Drive, film, write_together
from asfound.errors import RecordingError
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.video import Group, LongGroup

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
FAST = (("preset", "ultrafast"), ("crf", "30"))
BFRAMES = (("preset", "veryfast"), ("crf", "30"), ("x264-params", "scenecut=0"))
X265 = (*FAST, ("x265-params", "log-level=none:scenecut=0:open-gop=0"))
VIDEO = AvVideo()
CODINGS = {
    "mp4": Coding(options=FAST),
    "mp4 with b-frames": Coding(options=BFRAMES),
    "mov": Coding(options=FAST, suffix=".mov"),
    "mkv": Coding(options=BFRAMES, suffix=".mkv"),
    "ts": Coding(options=BFRAMES, suffix=".ts"),
    "ps": Coding("mpeg2video", (), 800_000, suffix=".mpg"),
    "avi mpeg4": Coding("mpeg4", (), 600_000, suffix=".avi"),
    "avi mjpeg": Coding("mjpeg", (), 2_000_000, suffix=".avi"),
    "h264": Coding(options=FAST, suffix=".h264"),
    "h265": Coding("libx265", X265, suffix=".h265"),
    "mkv h265": Coding("libx265", X265, suffix=".mkv"),
    "mjpeg": Coding("mjpeg", (), 2_000_000, suffix=".mjpeg"),
}


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    made = {}
    for name, coding in CODINGS.items():
        camera = Camera(1, "ROAD", "road", 320, 192, 10, coding=coding)
        [made[name]] = film(Drive(5, START, 3, (camera,)), tmp_path_factory.mktemp("made"))
    return made


def groups(path: Path, stream: int = 0) -> list[Group]:
    return list(VIDEO.groups(path, stream, 1.0))


@pytest.mark.parametrize("name", CODINGS)
def test_groups_hold_every_picture_once(files: dict[str, Path], name: str) -> None:
    seen = groups(files[name])
    decoded = list(VIDEO.frames(files[name], 0))
    assert sum(len(group.seconds) for group in seen) == len(decoded) == 30
    seconds = np.sort(np.concatenate([group.seconds for group in seen]))
    assert seconds == pytest.approx([frame.second for frame in decoded], abs=0.002)
    # Bare Motion JPEG states no rate: 25 pictures a second are assumed.
    numbers = [0, 25] if name == "mjpeg" else [0, 10, 20]
    assert [group.number for group in seen] == numbers
    assert seen[-1].next_s is None
    followed = [group.next_s for group in seen[:-1]]
    assert followed == pytest.approx([1.0, 2.0][: len(followed)], abs=0.002)
    assert not any(group.suspect or group.jumped for group in seen)
    intra = "mjpeg" in name
    assert all(group.keys == (len(group.seconds) if intra else 1) for group in seen)
    assert sum(group.size_bytes for group in seen) == decoded[-1].bytes_before


@pytest.mark.parametrize("name", CODINGS)
def test_a_key_picture_by_itself_is_the_picture_that_decoding_all_shows(
    files: dict[str, Path], name: str
) -> None:
    whole = {round(frame.second, 2): frame for frame in VIDEO.frames(files[name], 0)}
    for group in VIDEO.groups(files[name], 0, 1.0):
        key = group.key()
        assert key is not None and key.key and key.full is not None
        same = whole[round(key.second, 2)]
        assert same.full is not None and np.array_equal(key.full, same.full)
        assert key.packet_bytes == same.packet_bytes


@pytest.mark.parametrize("name", CODINGS)
def test_a_group_decoded_shows_its_pictures_and_the_next_key(
    files: dict[str, Path], name: str
) -> None:
    whole = {round(frame.second, 2): frame for frame in VIDEO.frames(files[name], 0)}
    for group in VIDEO.groups(files[name], 0, 1.0):
        frames = list(group.frames(0.0))
        seconds = [round(frame.second, 2) for frame in frames]
        assert seconds == [second for second in whole if seconds[0] <= second <= seconds[-1]]
        assert len(frames) == len(group.seconds) + (group.next_s is not None)
        assert not any(frame.damaged for frame in frames)
        assert all(
            np.array_equal(frame.luma, whole[second].luma)
            for second, frame in zip(seconds, frames, strict=True)
        )


def test_pictures_shown_before_the_key_picture_they_follow_are_no_damage(tmp_path: Path) -> None:
    # ITU-T H.265 3.x: leading pictures of an open group refer to the group before.
    params = ("x265-params", "log-level=none:scenecut=0:open-gop=1:bframes=3:b-adapt=0")
    coding = Coding("libx265", (("preset", "fast"), ("crf", "30"), params), suffix=".mkv")
    camera = Camera(1, "ROAD", "road", 160, 96, 10, coding=coding)
    [path] = film(Drive(5, START, 4, (camera,)), tmp_path)
    seen = groups(path)
    assert any((group.seconds < group.seconds[0]).any() for group in seen[1:]), "open groups"
    assert sum(len(group.seconds) for group in seen) == 40
    for group in VIDEO.groups(path, 0, 1.0):
        frames = list(group.frames(0.0))
        assert frames and not any(frame.damaged for frame in frames)
        assert frames[0].second == pytest.approx(group.seconds[0])


@pytest.mark.parametrize("name", CODINGS)
def test_contents_decide_whatever_the_file_is_called(
    files: dict[str, Path], name: str, tmp_path: Path
) -> None:
    stated = VIDEO.facts(files[name])
    for number, suffix in enumerate((".mp4", ".avi", ".dat", "")):
        path = tmp_path / f"ch{number}{suffix}"
        path.write_bytes(files[name].read_bytes())
        facts = VIDEO.facts(path)
        assert (facts.container, facts.streams) == (stated.container, stated.streams)


@pytest.mark.parametrize("suffix", [".mkv", ".mp4", ".ts", ".avi"])
def test_every_stream_of_a_file_has_its_own_groups(tmp_path: Path, suffix: str) -> None:
    coding = CODINGS["avi mpeg4"] if suffix == ".avi" else Coding(options=FAST)
    cameras = tuple(
        Camera(channel, "X", "road", 160 * channel, 96, 10, coding=coding) for channel in (1, 2)
    )
    path = write_together(tmp_path / f"all{suffix}", Drive(5, START, 2, cameras))
    assert [stream.width for stream in VIDEO.facts(path).streams] == [160, 320]
    for stream, width in ((0, 160), (1, 320)):
        seen = groups(path, stream)
        assert sum(len(group.seconds) for group in seen) == 20
        key = next(VIDEO.groups(path, stream, 1.0)).key()
        assert key is not None and key.full is not None and key.full.shape == (96, width)


def test_filling_of_a_constant_bit_rate_does_not_count(tmp_path: Path) -> None:
    # ITU-T H.264 7.3.2.7: filler data are FF bytes; x264 writes them for nal-hrd=cbr.
    options = (
        ("preset", "ultrafast"),
        ("nal-hrd", "cbr"),
        ("maxrate", "900k"),
        ("bufsize", "900k"),
    )
    coding = Coding(options=options, bit_rate=900_000, suffix=".ts")
    camera = Camera(1, "X", "parked-night", 160, 96, 10, noise=0.0, coding=coding)
    [path] = film(Drive(5, START, 3, (camera,)), tmp_path)
    last = groups(path)[-1]
    assert last.size_bytes > 5 * last.sizes.sum()


def test_key_pictures_too_far_apart_are_not_held(tmp_path: Path) -> None:
    options = (("preset", "ultrafast"), ("crf", "51"), ("x264-params", "keyint=9999:scenecut=0"))
    camera = Camera(1, "X", "road", 64, 48, 60, coding=Coding(options=options, key_every_s=99))
    [path] = film(Drive(5, START, 26, (camera,)), tmp_path)
    with pytest.raises(LongGroup):
        groups(path)


def test_zeros_of_sectors_that_were_not_read_are_suspect(
    files: dict[str, Path], tmp_path: Path
) -> None:
    for name in ("mp4", "mkv", "h264", "ts"):
        data = bytearray(files[name].read_bytes())
        middle = len(data) // 2
        data[middle : middle + 4096] = bytes(4096)
        path = tmp_path / files[name].name
        path.write_bytes(data)
        try:
            seen = groups(path)
        except RecordingError:
            continue
        lost = 30 - sum(len(group.seconds) for group in seen)
        assert lost or any(group.suspect for group in seen), name


def test_times_that_run_backwards_are_told_and_counted_on(
    files: dict[str, Path], tmp_path: Path
) -> None:
    # ISO/IEC 13818-1: programme streams may be put one after another byte by byte.
    path = tmp_path / "twice.ts"
    path.write_bytes(files["ts"].read_bytes() * 2)
    seen = groups(path)
    assert sum(len(group.seconds) for group in seen) == 60
    assert [bool(group.jumped) for group in seen] == [False] * 3 + [True] + [False] * 2
    assert seen[3].jumped == pytest.approx(3.0, abs=0.15)
    starts = [float(group.seconds.min()) for group in seen]
    assert starts == pytest.approx([0, 1, 2, 3, 4, 5], abs=0.15)


def sound(path: Path, amplitude: float) -> Path:
    with av.open(str(path), "w") as container:
        video = container.add_stream("mpeg4", rate=10)
        video.width, video.height, video.pix_fmt = 64, 48, "yuv420p"
        audio = container.add_stream("pcm_s16le", rate=8000, layout="mono")
        for number in range(30):
            picture = av.VideoFrame.from_ndarray(np.zeros((72, 64), np.uint8), format="yuv420p")
            picture.pts = number
            container.mux(video.encode(picture))
        wave = np.sin(np.arange(24_000) * 2 * np.pi * 400 / 8000) * amplitude * 32767
        for first in range(0, 24_000, 800):
            part = wave[None, first : first + 800].astype(np.int16)
            frame = av.AudioFrame.from_ndarray(part, "s16", "mono")
            frame.sample_rate, frame.pts = 8000, first
            container.mux(audio.encode(frame))
        container.mux(video.encode(None))
        container.mux(audio.encode(None))
    return path


@pytest.mark.parametrize(("amplitude", "level"), [(1.0, -3.01), (0.1, -23.01), (0.0, -120.0)])
def test_loudness_is_the_rms_of_the_sound(tmp_path: Path, amplitude: float, level: float) -> None:
    path = sound(tmp_path / "ch1.mkv", amplitude)
    assert VIDEO.loudness(path, [0.5, 1.5], 1.0) == pytest.approx(level, abs=0.05)


def test_without_sound_there_is_no_loudness(files: dict[str, Path]) -> None:
    assert VIDEO.loudness(files["mp4"], [0.5], 1.0) is None


def test_a_group_with_pictures_missing_is_suspect(tmp_path: Path) -> None:
    # A Matroska reader passes over sectors that hold other bytes, to the next cluster; the
    # picture before them may be damaged though its own length is right.
    coding = Coding(options=(*FAST, ("g", "100")), key_every_s=8, suffix=".mkv")
    camera = Camera(1, "ROAD", "road", 320, 192, 12, coding=coding)
    [path] = film(Drive(5, START, 8, (camera,)), tmp_path)
    with av.open(str(path)) as container:
        packets = [p for p in container.demux(container.streams.video[0]) if p.size]
    gone = packets[40:52]
    assert all(packet.pos is not None for packet in gone)
    data = bytearray(path.read_bytes())
    first, last = int(gone[0].pos or 0) - 20, int(gone[-1].pos or 0)
    data[first:last] = np.random.default_rng(5).bytes(last - first)
    path.write_bytes(data)
    [group] = groups(path)
    assert len(group.seconds) < 96
    assert "no pictures for" in group.suspect
