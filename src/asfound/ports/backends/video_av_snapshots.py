"""Full-size upright pictures out of a clip, for reading what they show."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from asfound.ports.backends.pictures_strips import small_size
from asfound.ports.backends.video_av_pictures import ASSUMED_RATE, Reader, stated_rate
from asfound.ports.pictures import Pixels
from asfound.ports.video import Snapshot


def snapshots(
    path: Path, container: InputContainer, stream: VideoStream, every_s: float, longest: int | None
) -> Iterator[Snapshot]:
    """See ports.video.Video.snapshots."""
    slack = 0.5 / float(stated_rate(stream, container) or ASSUMED_RATE)
    last = -1e9
    for seen in Reader(path, container, stream, every_s).decoded():
        if seen.second - last >= every_s - slack:
            last = seen.second
            yield Snapshot(seen.second, upright(seen.frame, longest), seen.damaged)


def upright(frame: VideoFrame, longest: int | None) -> Pixels:
    """RGB, turned by the container's display matrix (ISO/IEC 14496-12, track header).

    PyAV gives the turn in degrees counterclockwise.
    """
    pixels: Pixels = np.asarray(frame.to_ndarray(format="rgb24"), np.uint8)
    size = small_size((frame.width, frame.height), longest)
    if size != (frame.width, frame.height):
        pixels = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    quarters = round(frame.rotation / 90) % 4
    return np.ascontiguousarray(np.rot90(pixels, quarters), dtype=np.uint8)
