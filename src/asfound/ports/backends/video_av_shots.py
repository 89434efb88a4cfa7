"""Single full-size pictures near given seconds: the key picture before each, so that one picture
is decoded for one wanted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path

import av
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from asfound.ports.backends.video_av_pictures import BROKEN, RAW, SEEK_BACK, Reader, origin_of
from asfound.ports.backends.video_av_snapshots import upright
from asfound.ports.video import Snapshot

PATIENCE = 400
"""Packets that are read on after a seek before a wanted picture is given up."""


def shots(
    path: Path, container: InputContainer, stream: VideoStream, seconds: Sequence[float], key: bool
) -> Iterator[Snapshot]:
    """See ports.video.Video.shots."""
    if container.format.name in RAW | {"avi"}:
        # Without times of their own, pictures are counted: from the first, and all of them.
        yield from _counted(path, container, stream, seconds)
        return
    origin = origin_of(stream)
    last = -1.0
    for second in seconds:
        picture = _sought(container, stream, origin + second, key)
        at = -1.0 if picture is None or picture.time is None else picture.time - origin
        if picture is not None and at > last:
            last = at
            yield Snapshot(at, upright(picture, None), bool(picture.is_corrupt))


def _sought(
    container: InputContainer, stream: VideoStream, moment: float, key: bool
) -> VideoFrame | None:
    """The key picture at or before ``moment``, or with ``key`` False the first from it on."""
    stream.codec_context.skip_frame = "NONKEY" if key else "DEFAULT"
    best: VideoFrame | None = None
    for back in SEEK_BACK:
        best = _read_on(container, stream, moment, back, key)
        if best is not None:
            return best
    return None


def _read_on(
    container: InputContainer, stream: VideoStream, moment: float, back: float, key: bool
) -> VideoFrame | None:
    base = stream.time_base or Fraction(1, av.time_base)
    best: VideoFrame | None = None
    try:
        container.seek(max(0, int((moment - back) / base)), stream=stream, backward=True)
        for count, packet in enumerate(container.demux(stream)):
            try:
                pictures = packet.decode()
            except av.error.InvalidDataError:
                continue
            for picture in pictures:
                at = picture.time
                if key and best is not None and (at is None or at > moment + 1e-3):
                    return best
                best = picture
                # An index leads to the very key picture; without one it may come later.
                if (key and not back) or (at is not None and at >= moment - 1e-3):
                    return best
            if count > PATIENCE and best is not None:
                break
    except BROKEN:
        pass  # a picture that cannot be had is left out; the damage is reported by frames()
    return best


def _counted(
    path: Path, container: InputContainer, stream: VideoStream, seconds: Sequence[float]
) -> Iterator[Snapshot]:
    wanted = list(seconds)
    for seen in Reader(path, container, stream, 0.0).decoded():
        if wanted and seen.second >= wanted[0] - 1e-3:
            while wanted and seen.second >= wanted[0] - 1e-3:
                wanted.pop(0)
            yield Snapshot(seen.second, upright(seen.frame, None), seen.damaged)
        if not wanted:
            return
