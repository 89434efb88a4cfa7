"""Full-size pictures out of clips. Turning is held against what FFmpeg makes of the same files
(its automatic rotation by the display matrix, ISO/IEC 14496-12)."""

from __future__ import annotations

import subprocess
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np
import pytest
from PIL import Image

from asfound.errors import NotFound, RecordingError
from asfound.ports.backends.video_av import AvVideo

VIDEO = AvVideo()


def written(
    path: Path, count: int = 20, rate: int = 10, size: tuple[int, int] = (320, 240)
) -> Path:
    """A clip whose first quarter is red; its brightness counts the pictures."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=10)
        stream.width, stream.height = 320, 240
        stream.pix_fmt = "yuv420p"
        for number in range(count):
            pixels = np.full((240, 320, 3), 4 * number, np.uint8)
            pixels[:120, :160] = (230, 20, 20)
            for packet in stream.encode(av.VideoFrame.from_ndarray(pixels, format="rgb24")):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
    return path


@pytest.mark.parametrize(("every_s", "count"), [(0.0, 20), (0.2, 10), (0.5, 4), (9.0, 1)])
def test_at_most_one_each_so_many_seconds(tmp_path: Path, every_s: float, count: int) -> None:
    shots = list(VIDEO.snapshots(written(tmp_path / "a.mp4"), 0, every_s))
    assert len(shots) == count and not any(shot.damaged for shot in shots)
    for shot in shots:
        assert shot.pixels.shape == (240, 320, 3) and shot.pixels.dtype == np.uint8
        assert abs(int(shot.pixels[200, 300, 1]) - round(40 * shot.second)) <= 4
    assert [shot.second for shot in shots] == pytest.approx(
        [number * max(every_s, 0.1) for number in range(count)]
    )


@pytest.mark.parametrize("turn", [90, 180, 270])
def test_turned_like_ffmpeg_turns(tmp_path: Path, turn: int) -> None:
    plain, turned, still = (tmp_path / name for name in ("a.mp4", "b.mp4", "b.png"))
    written(plain, 3)
    ffmpeg = [imageio_ffmpeg.get_ffmpeg_exe(), "-loglevel", "error"]
    run = [*ffmpeg, "-display_rotation", str(turn), "-i", str(plain), "-c", "copy", str(turned)]
    subprocess.run(run, check=True)
    subprocess.run([*ffmpeg, "-i", str(turned), "-frames:v", "1", str(still)], check=True)
    wanted = np.asarray(Image.open(still).convert("RGB")).astype(int)
    (shot,) = VIDEO.snapshots(turned, 0, 9.0)
    assert shot.pixels.shape == wanted.shape
    assert np.abs(shot.pixels - wanted).mean() < 3


def test_large_pictures_come_no_larger_than_asked(tmp_path: Path) -> None:
    (shot,) = VIDEO.snapshots(written(tmp_path / "a.mp4", 2), 0, 9.0, longest=160)
    assert shot.pixels.shape == (120, 160, 3)
    assert shot.pixels[20, 20, 0] > 180 > shot.pixels[100, 150, 0]


def test_files_that_are_none(tmp_path: Path) -> None:
    (tmp_path / "a.mp4").write_bytes(b"no clip" * 99)
    with pytest.raises(RecordingError, match=r"a\.mp4"):
        list(VIDEO.snapshots(tmp_path / "a.mp4", 0, 0.2))
    with pytest.raises(NotFound):
        list(VIDEO.snapshots(tmp_path / "gone.mp4", 0, 0.2))
