"""What packets show without decoding, against the decoder itself.

Outside check: FFmpeg's decoder, told to leave out pictures that no other leans on
(AVDISCARD_NONREF), and the pictures that decoding everything shows.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.demo.footage import Camera, Coding, Drive, film
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.backends.video_av_units import Holes, leaned_on, length_size, odd, spared

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
BOTH_WAYS = (("preset", "veryfast"), ("crf", "30"), ("x264-params", "scenecut=0:b-adapt=0"))
VIDEO = AvVideo()


@pytest.fixture(scope="module", params=[".mp4", ".mkv", ".ts"])
def recording(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    coding = Coding(options=BOTH_WAYS, key_every_s=2, suffix=request.param)
    camera = Camera(1, "ROAD", "road", 320, 192, 25, coding=coding)
    [path] = film(Drive(5, START, 4, (camera,)), tmp_path_factory.mktemp("made"))
    return path


def shown(path: Path, skip: Literal["NONREF", "DEFAULT"]) -> set[int]:
    """Stamps of the pictures that the decoder shows when told to ``skip`` some."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.codec_context.thread_count = 1
        stream.codec_context.skip_frame = skip
        return {frame.pts for frame in container.decode(stream) if frame.pts is not None}


def test_pictures_that_no_other_leans_on_are_those_that_the_decoder_leaves_out(
    recording: Path,
) -> None:
    with av.open(str(recording)) as container:
        stream = container.streams.video[0]
        length = length_size(stream)
        packets = [packet for packet in container.demux(stream) if packet.size]
        leaned = {packet.pts for packet in packets if leaned_on(bytes(packet), length)}
    assert leaned == shown(recording, "NONREF")
    assert 0 < len(leaned) < len(shown(recording, "DEFAULT")) == 100


def test_what_is_left_after_leaving_some_out_decodes_as_if_none_were(recording: Path) -> None:
    whole = {round(frame.second, 2): frame for frame in VIDEO.frames(recording, 0)}
    for group in VIDEO.groups(recording, 0, 1.0):
        frames = list(group.frames(0.0, sound=True))
        assert len(frames) == len(group.seconds) + (group.next_s is not None), "0 s apart: all"
        frames = list(group.frames(0.1, sound=True))
        assert not any(frame.damaged for frame in frames)
        assert all(
            np.array_equal(frame.luma, whole[round(frame.second, 2)].luma) for frame in frames
        )
        # 0.08 or 0.12 s at 25 pictures a second, as when every picture is decoded.
        assert np.diff([frame.second for frame in frames]).max() < 0.13
        assert frames[0].key and frames[-1].key is (group.next_s is not None)


@pytest.mark.parametrize(
    "data", [b"", b"\0\0\1", b"\0\0\0\2\x09\xf0", b"\0\0\1\x09\xf0", b"\xff" * 9]
)
def test_a_packet_without_a_picture_in_it_is_never_left_out(data: bytes) -> None:
    assert leaned_on(data, 0) and leaned_on(data, 4)


@given(st.binary(max_size=200))
def test_any_bytes_are_judged(data: bytes) -> None:
    for length in (0, 1, 2, 4):
        assert leaned_on(data, length) in (True, False)
        assert isinstance(odd(data, length), str)


@given(
    st.lists(st.tuples(st.integers(1, 12), st.booleans()), min_size=3, max_size=60),
    st.permutations(range(3)),
)
def test_what_is_left_lies_no_farther_apart_than_allowed(
    steps: list[tuple[int, bool]], order: list[int]
) -> None:
    seconds = np.cumsum([step for step, _ in steps]) / 100
    leaned = [keep for _, keep in steps]
    # Pictures come in the order of decoding, not in that in which they are shown.
    moved = np.array([*order, *range(3, len(seconds))])
    out = spared(seconds[moved], [leaned[at] for at in moved], 0.1)
    assert not any(leaned[moved[at]] for at in out)
    kept = np.sort(np.delete(seconds[moved], sorted(out)))
    assert kept[0] == seconds[0] and kept[-1] == seconds[-1]
    steps_left = np.diff(kept)
    alone = np.diff(seconds).max(initial=0.0)
    assert steps_left.max(initial=0.0) <= max(0.1, alone) + 0.0011


def test_bytes_between_packets_that_belong_to_nothing_are_seen() -> None:
    avi = Holes("avi", 1)
    assert avi.before(1000, 301) == avi.before(1310, 400) == "", "headers and padding"
    assert avi.before(1718 + 4096, 400) == "4096 bytes before it belong to nothing"
    assert avi.before(None, 400) == ""
    ts = Holes("mpegts", 1)
    assert ts.before(188, 1000) == ts.before(188 + 6 * 188 + 2 * 188, 1000) == "", "tables between"
    assert ts.before(188 * 40, 1000)
    for container, streams in (("avi", 2), ("matroska", 1)):
        other = Holes(container, streams)
        assert other.before(0, 10) == other.before(900_000, 10) == "", "other streams are between"


def test_a_file_that_is_filled_up_everywhere_has_no_holes() -> None:
    ts = Holes("mpegts", 1)
    seen = [ts.before(at * 10_000, 1000) for at in range(100)]
    assert sum(map(bool, seen)) == 2
