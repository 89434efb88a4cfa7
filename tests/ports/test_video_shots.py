"""Single full-size pictures near given seconds: each picture of the clip is as bright as its number
says, so what was got can be told."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest
from av.video.stream import VideoStream

from asfound.errors import NotFound, RecordingError
from asfound.ports.backends.video_av import AvVideo

VIDEO = AvVideo()
RATE = 10


def written(path: Path, codec: str = "libx264", options: tuple[tuple[str, str], ...] = ()) -> Path:
    """6 s of 10 pictures a second, a key picture every 2 s."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=RATE, options=dict(options))
        assert isinstance(stream, VideoStream)
        stream.width, stream.height = 320, 240
        stream.pix_fmt = "yuv420p"
        stream.gop_size = 20
        for number in range(60):
            pixels = np.full((240, 320, 3), 20 + 3 * number, np.uint8)
            frame = av.VideoFrame.from_ndarray(pixels, format="rgb24")
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def seen(path: Path, seconds: tuple[float, ...], key: bool = True) -> list[float]:
    """Seconds of the pictures, after holding each against its brightness."""
    got = list(VIDEO.shots(path, 0, seconds, key))
    for shot in got:
        assert shot.pixels.shape == (240, 320, 3)
        number = (float(shot.pixels.mean()) - 20) / 3
        assert abs(number - shot.second * RATE) < 2, (number, shot.second)
    return [round(shot.second, 3) for shot in got]


@pytest.mark.parametrize("name", ["a.mp4", "a.mkv", "a.ts"])
def test_key_pictures_before_the_wanted_seconds(tmp_path: Path, name: str) -> None:
    path = written(tmp_path / name, options=(("sc_threshold", "0"), ("bf", "2")))
    keys, exact = seen(path, (0.0, 2.5, 3.9, 5.5)), seen(path, (0.0, 2.5, 5.5), key=False)
    if name == "a.ts":
        # A transport stream has no index: a wanted second is met by a picture near it only.
        assert {2.0, 4.0} & set(keys) and len(exact) >= 2
        return
    assert keys == [0.0, 2.0, 4.0]
    assert exact == [0.0, 2.5, 5.5]


@pytest.mark.parametrize(("name", "codec"), [("a.avi", "mpeg4"), ("a.h264", "libx264")])
def test_files_without_times_are_counted(tmp_path: Path, name: str, codec: str) -> None:
    options = (("bf", "0"),) if codec == "libx264" else ()
    path = written(tmp_path / name, codec, options)
    assert [second > 0 for second in seen(path, (0.0, 2.5, 5.5))] == [False, True, True]


def test_past_the_end_gives_the_last(tmp_path: Path) -> None:
    path = written(tmp_path / "a.mp4")
    assert seen(path, (90.0,), key=False) == [5.9]


def test_what_is_no_recording(tmp_path: Path) -> None:
    (tmp_path / "a.mp4").write_bytes(b"no video at all")
    with pytest.raises(RecordingError):
        list(VIDEO.shots(tmp_path / "a.mp4", 0, (0.0,)))
    with pytest.raises(NotFound):
        list(VIDEO.shots(tmp_path / "b.mp4", 0, (0.0,)))
