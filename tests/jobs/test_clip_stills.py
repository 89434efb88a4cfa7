"""Frames of clips: which are kept, what is said about the clip, limits and faults. The clips are
coded by FFmpeg's libraries; pages and phones are the simulator's, or drawn here."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from asfound.demo.clip import Clip, Filming, film
from asfound.demo.random_values import random_values
from asfound.demo.themes import TUNING_THEMES
from asfound.errors import Interrupted
from asfound.jobs import clip_stills
from asfound.jobs.clip_stills import (
    ClipTools,
    PickFrames,
    clip_of,
    is_clip,
    pick_frames,
    without_blank_frames,
)
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.model.menu_map import MenuMap
from asfound.model.reading import PhotoReading, State
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.pictures import Pixels
from asfound.ports.progress import Progress, silent


def words(*lines: str, blur: float = 0.0) -> Pixels:
    picture = np.full((360, 640, 3), 30, np.uint8)
    for row, line in enumerate(lines):
        place = (40, 70 + 60 * row)
        cv2.putText(picture, line, place, cv2.FONT_HERSHEY_SIMPLEX, 1.3, (235, 235, 235), 2)
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), blur) if blur else picture, np.uint8)


def clip(
    path: Path, pictures: Sequence[Pixels], rate: int = 5, start: datetime | None = None
) -> Path:
    with av.open(str(path), "w") as container:
        if start is not None:
            container.metadata["creation_time"] = start.strftime("%Y-%m-%dT%H:%M:%SZ")
        stream = container.add_stream("libx264", rate=rate)
        stream.width, stream.height, stream.pix_fmt = 640, 360, "yuv420p"
        for pixels in pictures:
            for packet in stream.encode(av.VideoFrame.from_ndarray(pixels, format="rgb24")):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
    return path


def picked(path: Path, progress: Progress = silent) -> tuple[PhotoReading, ...]:
    tools = ClipTools(AvVideo(), PillowPictures(), FileBlobs(path.parent / "blobs"))
    return pick_frames(PickFrames(path, 4096), tools=tools, progress=progress)


def seconds(frames: Sequence[PhotoReading]) -> list[float]:
    return [float(frame.file.rpartition(" @ ")[2].removesuffix(" s")) for frame in frames]


ONE, OTHER = words("Keep 30 days", "Overwrite", "Split 5 min"), words("Frames 12", "Sound", "Off")


def test_the_sharpest_frame_of_each_stretch(tmp_path: Path) -> None:
    soft = [words("Keep 30 days", "Overwrite", "Split 5 min", blur=s) for s in (2.0, 1.4, 1.8)]
    frames = picked(clip(tmp_path / "a.mp4", [soft[0], soft[1], ONE, soft[2], *[OTHER] * 4]))
    assert [frame.damaged for frame in frames] == [False, False]
    assert seconds(frames)[0] == pytest.approx(0.4)
    assert 0.8 <= seconds(frames)[1] <= 1.4


def test_a_frame_between_two_pages_is_left_out(tmp_path: Path) -> None:
    """A shutter that meets two pages, one above the other: nobody held that page."""
    both = np.concatenate([ONE[:130], OTHER[130:]])
    frames = picked(clip(tmp_path / "a.mp4", [*[ONE] * 4, both, *[OTHER] * 4]))
    assert len(frames) == 2 and 0.8 not in seconds(frames)


def test_one_page_held_long_gives_a_frame_a_second(tmp_path: Path) -> None:
    frames = picked(clip(tmp_path / "a.mp4", [ONE] * 20))
    assert len(frames) == 4 and np.diff(seconds(frames)).max() <= 2.0


def test_nothing_but_changes_gives_a_frame_now_and_then(tmp_path: Path) -> None:
    frames = picked(clip(tmp_path / "a.mp4", [ONE, OTHER] * 10))
    assert 1 <= len(frames) <= 3


def test_a_single_picture_is_kept(tmp_path: Path) -> None:
    assert seconds(picked(clip(tmp_path / "a.mp4", [ONE]))) == [0.0]


def test_hash_second_and_time_are_kept_with_the_frame(tmp_path: Path) -> None:
    """Container time: ISO/IEC 14496-12, movie header; UTC."""
    start = datetime(2026, 3, 17, 21, 40, 5, tzinfo=UTC)
    path = clip(tmp_path / "menu.mp4", [ONE] * 4 + [OTHER] * 4, start=start)
    frames = picked(path)
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    for frame, second in zip(frames, seconds(frames), strict=True):
        assert frame.clip == digest and frame.file == f"{path} @ {second:.1f} s"
        data = FileBlobs(tmp_path / "blobs").get(frame.sha256)
        picture = PillowPictures().decode(data, "frame")
        assert picture.frame is not None and picture.frame.clip == digest
        assert picture.frame.second == pytest.approx(second)
        assert picture.taken == picture.frame.taken == start + timedelta(seconds=second)
        assert picture.frame.within_s == pytest.approx(2.6)  # 1.6 s long, and a second more
    shown = PillowPictures().decode(FileBlobs(tmp_path / "blobs").get(frames[0].sha256), "a").pixels
    assert np.abs(shown.astype(int) - ONE).mean() < 6


def test_a_clip_without_a_time_gives_frames_without(tmp_path: Path) -> None:
    (frame,) = picked(clip(tmp_path / "a.mp4", [ONE] * 3))
    picture = PillowPictures().decode(FileBlobs(tmp_path / "blobs").get(frame.sha256), "a")
    assert picture.taken is None and picture.frame is not None and picture.frame.taken is None


def test_a_photograph_is_no_frame() -> None:
    assert PillowPictures().decode(PillowPictures().encode_jpeg(ONE), "a").frame is None


@pytest.mark.parametrize("data", [b"", b"no clip at all" * 50, bytes(3000)])
def test_a_file_that_is_no_clip_is_one_line(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(data)
    (frame,) = picked(path)
    assert frame.damaged and frame.note.startswith("a.mp4: ") and "\n" not in frame.note


def test_a_clip_cut_short_gives_what_there_is_and_says_so(tmp_path: Path) -> None:
    path = clip(tmp_path / "a.ts.mkv", [ONE] * 6 + [OTHER] * 6)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * 0.8)])
    frames = picked(path)
    assert frames and not frames[0].damaged


def test_a_long_recording_is_no_clip(tmp_path: Path) -> None:
    path = clip(tmp_path / "a.mp4", [ONE] * 62, rate=1)
    long = clip_stills.LONGEST_CLIP_S
    assert not picked(path)[0].damaged
    slow = tmp_path / "slow.mp4"
    with av.open(str(slow), "w") as container:
        stream = container.add_stream("libx264", rate=1)
        stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p"
        for number in range(int(long) + 20):
            picture = av.VideoFrame.from_ndarray(
                np.full((64, 64, 3), number % 9, np.uint8), "rgb24"
            )
            for packet in stream.encode(picture):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
    (frame,) = picked(slow)
    assert frame.damaged and "at most 5" in frame.note and "shorter clips" in frame.note


def test_progress_counts_seconds_and_stops(tmp_path: Path) -> None:
    calls: list[tuple[int, int, str]] = []
    path = clip(tmp_path / "a.mp4", [ONE] * 12)
    picked(path, lambda *call: calls.append(call))
    assert [done for done, _, _ in calls] == sorted(done for done, _, _ in calls)
    assert calls[-1][1] == 2 and "a.mp4" in calls[0][2]

    def stop(done: int, total: int, what: str) -> None:
        raise Interrupted("stopped")

    with pytest.raises(Interrupted):
        picked(path, stop)


def frame(second: float, page: str | None, clip: str = "c") -> PhotoReading:
    return PhotoReading(f"a.mp4 @ {second:.1f} s", f"{second}{clip}", page, 0.1, (), clip=clip)


def test_frames_without_a_page_go_but_are_counted() -> None:
    photo = PhotoReading("IMG_1.jpg", "x", None, 0.1, ())
    kept = without_blank_frames(
        [photo, frame(0.2, None), frame(1.2, "unit"), frame(2.0, None), frame(3.0, "power")]
    )
    assert [one.page for one in kept] == [None, "unit", "power"]
    assert kept[1].note == "2 of the clip's frames show no page of this map" and not kept[2].note


def test_of_a_clip_without_any_page_one_frame_stays() -> None:
    kept = without_blank_frames([frame(0.2, None), frame(1.2, None), frame(1.0, "unit", "d")])
    assert [one.file for one in kept] == ["a.mp4 @ 0.2 s", "a.mp4 @ 1.0 s"]
    assert kept[0].note.startswith("2 of the clip's")


def test_names() -> None:
    assert is_clip(Path("a/VID_1.MP4")) and is_clip(Path("b.mov")) and not is_clip(Path("c.jpg"))
    assert (
        clip_of("x/a.mp4 @ 13.2 s") == "x/a.mp4" and clip_of("IMG @ home.jpg") == "IMG @ home.jpg"
    )


# ------------------------------------------------------------------ the whole way


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> tuple[MenuMap, Clip]:
    menu_map = load_map(shipped_map_paths()["marrowby-four"])
    values = random_values(menu_map, "2.03", np.random.default_rng(17))
    how = Filming(TUNING_THEMES[0], "clean", 17, size=(1600, 900), rate=5, page_s=1.2)
    path = tmp_path_factory.mktemp("clip") / "VID_0017.mp4"
    return menu_map, film(menu_map, values, "2.03", ("channel-2", "keeping"), how, path)


def test_a_clip_is_read_like_photographs(filmed: tuple[MenuMap, Clip], tmp_path: Path) -> None:
    menu_map, made = filmed
    note = tmp_path / "note.jpg"
    note.write_text("no picture")
    reading = read_pages(
        ReadPages(menu_map, (note, made.path), "2.03"),
        pictures=PillowPictures(),
        ocr=RapidOcr(threads=2),
        blobs=FileBlobs(tmp_path / "blobs"),
        clock=SystemClock(),
        video=AvVideo(),
    )
    bad, *frames = reading.photos
    assert bad.damaged and not bad.clip
    assert [frame.page for frame in frames] == sorted(frame.page or "" for frame in frames)
    assert {frame.page for frame in frames} == set(made.pages)
    assert all(frame.clip and frame.file.startswith(str(made.path)) for frame in frames)
    truth = {name: value for page in made.pages for name, value in made.truth[page].items()}
    sure = [field for field in reading.fields if field.id in truth and field.state is State.SURE]
    assert len(sure) >= 0.9 * len(truth)
    assert {field.id: field.value for field in sure} == {f.id: truth[f.id] for f in sure}
