"""Clips: the packets are the recording's, byte for byte; they decode from the first picture on.

Packets and pictures are compared as FFmpeg's libraries read them from both files (PyAV); where a
group of pictures begins is known because the tests' encoder was told so.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from av.audio.stream import AudioStream
from av.video.stream import VideoStream

from asfound.errors import AsfoundError, NotFound, RecordingError, UsageError
from asfound.ports.backends.video_av_cut import AvCutter
from asfound.ports.clips import Span

RATE = 12
GROUP = 24
SECONDS = 10
START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)


def record(
    path: Path, codec: str = "libx264", sound: str = "aac", channels: int = 1, container: str = ""
) -> Path:
    """A moving scene with a tone; a key picture every two seconds, two B pictures between."""
    options: Mapping[str, str] = {"bf": "2", "sc_threshold": "0"} if codec == "libx264" else {}
    with av.open(str(path), "w", format=container or None) as target:
        target.metadata["creation_time"] = f"{START:%Y-%m-%dT%H:%M:%S.%fZ}"
        streams = [_pictures(target, codec, dict(options)) for _ in range(channels)]
        tone = target.add_stream(sound, rate=48000) if sound else None
        if isinstance(tone, AudioStream):
            tone.layout = "mono"
        base = (np.random.default_rng(1).random((96, 160, 3)) * 255).astype(np.uint8)
        for number in range(SECONDS * RATE):
            for stream in streams:
                frame = av.VideoFrame.from_ndarray(np.roll(base, number * 3, 1), format="rgb24")
                frame = frame.reformat(format=stream.pix_fmt)
                frame.pts, frame.time_base = number, Fraction(1, RATE)
                target.mux(stream.encode(frame))
        for stream in streams:
            target.mux(stream.encode(None))
        if isinstance(tone, AudioStream):
            _sound(target, tone)
    return path


def _pictures(
    target: av.container.OutputContainer, codec: str, options: dict[str, str]
) -> VideoStream:
    stream = target.add_stream(codec, rate=RATE, options=options)
    assert isinstance(stream, VideoStream)
    stream.width, stream.height, stream.gop_size = 160, 96, GROUP
    stream.pix_fmt = "yuvj420p" if codec == "mjpeg" else "yuv420p"
    return stream


def _sound(target: av.container.OutputContainer, tone: AudioStream) -> None:
    wave = (np.sin(np.arange(SECONDS * 48000) * 0.05) * 9000).astype(np.int16)
    for at in range(0, len(wave) - 960, 960):
        frame = av.AudioFrame.from_ndarray(wave[None, at : at + 960], format="s16", layout="mono")
        frame.sample_rate, frame.pts = 48000, at
        target.mux(tone.encode(frame))
    target.mux(tone.encode(None))


def packets(path: Path, kind: str, number: int = 0) -> list[bytes]:
    with av.open(str(path)) as source:
        stream = [item for item in source.streams if item.type == kind][number]
        return [bytes(packet) for packet in source.demux(stream) if packet.size]


def seconds(path: Path, kind: str) -> float:
    with av.open(str(path)) as source:
        stream = next(item for item in source.streams if item.type == kind)
        ends = [
            float(((packet.pts or 0) + (packet.duration or 0)) * packet.time_base)
            for packet in source.demux(stream)
            if packet.size
        ]
        start = float((stream.start_time or 0) * (stream.time_base or 0))
    return max(ends) - start


def within(part: list[bytes], whole: list[bytes]) -> int:
    """Where ``part`` stands in ``whole``, in one piece; -1 when it does not."""
    places = [n for n in range(len(whole) - len(part) + 1) if whole[n : n + len(part)] == part]
    return places[0] if len(places) == 1 else -1


CASES = [
    ("a.mp4", "libx264", "aac", ""),
    ("b.mkv", "libx264", "libopus", ""),
    ("c.avi", "mpeg4", "mp2", ""),
    ("d.ts", "libx264", "aac", ""),
    ("e.mov", "libx264", "pcm_s16le", ""),
    ("f.mpg", "mpeg2video", "mp2", ""),
    ("g.mkv", "mjpeg", "aac", ""),
    ("h.h264", "libx264", "", "h264"),
    ("wrong.dat", "libx264", "aac", "mp4"),
]


@pytest.mark.parametrize(("name", "codec", "sound", "container"), CASES)
def test_a_clip_is_a_piece_of_the_recording(
    tmp_path: Path, name: str, codec: str, sound: str, container: str
) -> None:
    path = record(tmp_path / name, codec, sound, container=container)
    before = hashlib.sha256(path.read_bytes()).digest()
    out = tmp_path / f"clip{path.suffix}"
    clip = AvCutter().cut(path, Span(4.5, 7.0), out)

    assert hashlib.sha256(path.read_bytes()).digest() == before, "the recording is only read"
    assert hashlib.sha256(out.read_bytes()).hexdigest() == clip.sha256
    pictures = packets(out, "video")
    # The key picture before 4.5 s is that of 4 s; Motion JPEG has nothing but key pictures.
    start = 4.5 if codec == "mjpeg" else 4.0
    assert within(pictures, packets(path, "video")) == round(start * RATE)
    assert clip.held.start_s == pytest.approx(start)
    assert clip.held.end_s == pytest.approx(7.0)
    assert len(pictures) == round((7.0 - start) * RATE)
    if sound:
        # Joined: where plain samples are parted into packets is the reader's choice.
        heard = b"".join(packets(out, "audio"))
        assert b"".join(packets(path, "audio")).find(heard) > 0
        assert clip.audio == 1 and seconds(out, "audio") == pytest.approx(7.0 - start, abs=0.1)
    with av.open(str(out)) as made:
        frames = list(made.decode(video=0))
    assert len(frames) == len(pictures), "every picture decodes, from the first on"
    assert frames[0].key_frame and not any(frame.is_corrupt for frame in frames)
    with av.open(str(path)) as source:
        whole = [frame.to_ndarray() for frame in source.decode(video=0)]
    first = round(start * RATE)
    for number in (0, 1, len(frames) - 1):
        assert np.array_equal(frames[number].to_ndarray(), whole[first + number])


def test_the_clip_says_when_it_was(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mkv")
    AvCutter().cut(path, Span(4.5, 7.0), tmp_path / "clip.mkv")
    with av.open(str(tmp_path / "clip.mkv")) as made:
        stamp = datetime.fromisoformat(made.metadata["creation_time"])
    assert (stamp - START).total_seconds() == pytest.approx(4.0, abs=1e-3)


def test_all_channels_of_a_file_come_along(tmp_path: Path) -> None:
    path = record(tmp_path / "all.mp4", sound="", channels=3)
    clip = AvCutter().cut(path, Span(0.0, 1.0), tmp_path / "clip.mp4")
    assert (clip.video, clip.audio, clip.packets) == (3, 0, 36)
    for number in range(3):
        part = packets(tmp_path / "clip.mp4", "video", number)
        assert part == packets(path, "video", number)[:12]


def test_pictures_that_lean_on_what_is_cut_away_are_left_out(tmp_path: Path) -> None:
    """H.265 open groups: pictures after a key picture in the file, shown before it (RASL,
    ITU-T H.265 clause 3), cannot be decoded without the group before."""
    path = tmp_path / "open.mkv"
    with av.open(str(path), "w") as target:
        stream = _pictures(target, "libx265", {
            "x265-params": "open-gop=1:bframes=3:b-adapt=0:scenecut=0:log-level=none"
        })  # fmt: skip
        base = (np.random.default_rng(1).random((96, 160, 3)) * 255).astype(np.uint8)
        for number in range(SECONDS * RATE):
            frame = av.VideoFrame.from_ndarray(np.roll(base, number * 3, 1), format="rgb24")
            frame = frame.reformat(format="yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, RATE)
            target.mux(stream.encode(frame))
        target.mux(stream.encode(None))
    clip = AvCutter().cut(path, Span(4.5, 7.0), tmp_path / "clip.mkv")
    with av.open(str(tmp_path / "clip.mkv")) as made:
        times = [float(frame.time or 0) for frame in made.decode(video=0)]
    assert clip.held.start_s == pytest.approx(4.0)
    assert len(times) == clip.packets
    gaps = np.diff(times)
    assert gaps.max() == pytest.approx(1 / RATE, abs=2e-3), "no picture is missing in between"


def test_a_span_beyond_the_end_is_cut_to_what_is_there(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4")
    clip = AvCutter().cut(path, Span(9.0, 60.0), tmp_path / "clip.mp4")
    assert [clip.held.start_s, clip.held.end_s] == pytest.approx([8.0, 10.0])
    with pytest.raises(UsageError, match=r"is 10\.0 s long"):
        AvCutter().cut(path, Span(20.0, 30.0), tmp_path / "late.mp4")
    assert not (tmp_path / "late.mp4").exists()


def test_a_damaged_end_is_cut_up_to_there(tmp_path: Path) -> None:
    path = record(tmp_path / "a.ts")
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * 0.55)])
    clip = AvCutter().cut(path, Span(2.0, 9.0), tmp_path / "clip.ts")
    assert clip.held.start_s == pytest.approx(2.0)
    assert 3.0 < clip.held.end_s < 8.0


def test_nothing_is_ever_replaced(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4")
    out = tmp_path / "clip.mp4"
    out.write_text("mine")
    for taken in (out, path):
        with pytest.raises(UsageError, match="there already"):
            AvCutter().cut(path, Span(0, 2), taken)
    assert out.read_text() == "mine"
    (tmp_path / "link.mp4").symlink_to(tmp_path / "nowhere.mp4")
    with pytest.raises(UsageError, match="there already"):
        AvCutter().cut(path, Span(0, 2), tmp_path / "link.mp4")
    assert sorted(item.name for item in tmp_path.iterdir()) == ["a.mp4", "clip.mp4", "link.mp4"]


def test_what_cannot_be_cut(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4")
    with pytest.raises(UsageError, match=r"end with \.mp4"):
        AvCutter().cut(path, Span(0, 2), tmp_path / "clip.mkv")
    with pytest.raises(NotFound, match="no such folder"):
        AvCutter().cut(path, Span(0, 2), tmp_path / "no" / "clip.mp4")
    with pytest.raises(NotFound, match="no such file"):
        AvCutter().cut(tmp_path / "b.mp4", Span(0, 2), tmp_path / "clip.mp4")
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(b"\0" * 4096)
    with pytest.raises(RecordingError, match="not a recording"):
        AvCutter().cut(broken, Span(0, 2), tmp_path / "clip.mp4")
    assert sorted(item.name for item in tmp_path.iterdir()) == ["a.mp4", "broken.mp4"]


def test_a_full_disk_is_one_line_and_leaves_nothing(tmp_path: Path) -> None:
    """setrlimit's RLIMIT_FSIZE lets writes fail as a full disk does (POSIX)."""
    path = record(tmp_path / "a.mp4")
    program = (
        "import resource, signal, sys\nfrom pathlib import Path\n"
        "from asfound.errors import StorageError\n"
        "from asfound.ports.backends.video_av_cut import AvCutter\n"
        "from asfound.ports.clips import Span\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000))\n"
        "try:\n    AvCutter().cut(Path(sys.argv[1]), Span(0, 9), Path(sys.argv[2]))\n"
        "except StorageError as error:\n    print(error)\n"
    )
    assert path.stat().st_size > 60000
    made = subprocess.run(
        [sys.executable, "-c", program, str(path), str(tmp_path / "clip.mp4")],
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert made.returncode == 0, made.stderr
    assert "grow beyond the allowed size" in made.stdout
    assert [item.name for item in tmp_path.iterdir()] == ["a.mp4"]


def test_damaged_recordings_end_as_a_clip_or_as_one_line(tmp_path: Path) -> None:
    """Cut, flipped and spliced from seeds: no other error than ours, and nothing left behind."""
    whole = {name: record(tmp_path / name).read_bytes() for name in ("a.mp4", "b.mkv", "c.ts")}
    for seed in range(27):
        rng = np.random.default_rng(seed)
        name = sorted(whole)[seed % 3]
        data = np.frombuffer(whole[name], np.uint8).copy()
        first, last = sorted(int(place) for place in rng.integers(0, len(data), 2))
        kind = seed // 3 % 3
        if kind == 0:
            data = data[:last]
        elif kind == 1:
            data[rng.integers(0, len(data), 60)] = rng.integers(0, 256, 60)
        else:
            data = np.concatenate((data[:first], data[last:], data[first:last]))
        path = tmp_path / f"damaged{Path(name).suffix}"
        path.write_bytes(data.tobytes())
        out = tmp_path / f"out{path.suffix}"
        try:
            clip = AvCutter().cut(path, Span(2.5, 8.0), out)
        except AsfoundError as error:
            assert not out.exists() and "\n" not in str(error)
        else:
            assert hashlib.sha256(out.read_bytes()).hexdigest() == clip.sha256
            out.unlink()
        path.unlink()
    assert sorted(item.name for item in tmp_path.iterdir()) == sorted(whole)
