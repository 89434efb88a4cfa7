"""Pictures out of PyAV: decoding that goes on after errors, scaling, stills."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

from asfound.calc.picture_faults import COLUMNS, ROWS, grid_size
from asfound.calc.shrink import averaged
from asfound.errors import RecordingError
from asfound.ports.pictures import Pixels
from asfound.ports.video import Frame

RAW = frozenset({"h264", "hevc", "mjpeg", "m4v", "mpegvideo"})
"""Bare streams without times of their own."""

ASSUMED_RATE = 25
"""Pictures per second that seconds are counted with when nothing states a rate."""

STILL_WIDTH = 480
"""Widest still picture that is given out."""

SEEK_BACK = (0.0, 4.0, 20.0, 1e9)
"""Seconds before a wanted still where searching starts: MPEG-TS has no index, and the place
found may lie behind the last key picture."""

BROKEN = (av.error.FFmpegError, IndexError)
"""What reading on may raise: PyAV answers an IndexError when streams turn up or go halfway."""

FULL_RANGE = 2
"""AVCOL_RANGE_JPEG in FFmpeg's libavutil/pixfmt.h."""


def why(error: Exception) -> str:
    """FFmpeg's or the system's reason, on one line."""
    text = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return " ".join(str(text).split()).lower()


def stated_rate(stream: VideoStream, container: InputContainer) -> Fraction | None:
    """Pictures per second as stated. FFmpeg's guess of 25 for bare streams is not taken."""
    if container.format.name == "mjpeg":
        return None
    bare = container.format.name in RAW
    return (stream.codec_context.framerate if bare else stream.average_rate) or None


def origin_of(stream: VideoStream) -> float:
    """The time of the stream's first picture in the container's own count [s]."""
    if stream.start_time is None or stream.time_base is None:
        return 0.0
    return float(stream.start_time * stream.time_base)


def _planes(frame: VideoFrame) -> list[NDArray[np.uint8]]:
    """Views of the 8-bit luma plane, and Cb and Cr planes unless the video is grey."""
    name = frame.format.name
    planar = name.startswith(("yuv4", "yuvj4")) and frame.format.components[0].bits == 8
    grey = name == "gray"
    source = frame if planar or grey else frame.reformat(format="yuv420p")
    return [
        np.frombuffer(memoryview(plane), np.uint8)
        .reshape(-1, plane.line_size)[: plane.height, : plane.width]
        for plane in source.planes[: 1 if grey else 3]
    ]  # fmt: skip


def _limited(frame: VideoFrame) -> bool:
    """False for full range; video that does not say is limited (ITU-T H.264, table E.2.1)."""
    return not (frame.format.name.startswith("yuvj") or frame.color_range == FULL_RANGE)


@dataclass(frozen=True, slots=True)
class Seen:
    """A decoded picture before it is measured."""

    frame: VideoFrame
    second: float
    packet_bytes: int
    damaged: bool
    number: int
    bytes_before: int


class Reader:
    """Decodes one stream and picks the pictures to hand out."""

    def __init__(
        self, path: Path, container: InputContainer, stream: VideoStream, every_s: float
    ) -> None:
        self._path = path
        self._container = container
        self._stream = stream
        self._every = every_s
        self._rate = float(stated_rate(stream, container) or ASSUMED_RATE)
        # AVI keeps no presentation times and bare streams none at all: pictures are counted.
        self._counted = container.format.name in RAW | {"avi"}
        self._errors = 0
        self._pending_errors = 0

    def frames(self) -> Iterator[Frame]:
        """The pictures to hand out. Raises RecordingError as ports.video.Video.frames."""
        last_out = -1e9
        held: Seen | None = None
        for seen in self.decoded():
            due = seen.second - last_out >= self._every - 0.5 / self._rate
            if due or seen.damaged or seen.frame.key_frame:
                yield measured_frame(seen)
                last_out, held = seen.second, None
            else:
                held = seen
        if held is not None:
            yield measured_frame(held)
        if self._pending_errors:
            raise RecordingError(
                f"{self._path}: {self._pending_errors} parts at the end cannot be decoded"
            )

    def decoded(self) -> Iterator[Seen]:
        """Every picture that decodes, in order. Raises RecordingError where it breaks off."""
        first: float | None = None
        second = -1 / self._rate
        total = 0
        for number, frame in enumerate(self._pictures()):
            size = frame.opaque if isinstance(frame.opaque, int) else 0
            total += size
            stamp = None if self._counted or frame.pts is None else frame.time
            if stamp is None:
                # Pictures that could not be decoded took their time as well.
                moment = (number + self._errors) / self._rate
            else:
                first = stamp if first is None else first
                moment = stamp - first
            second = moment if moment > second else second + 1 / self._rate
            damaged = bool(frame.is_corrupt) or self._pending_errors > 0
            self._pending_errors = 0
            yield Seen(frame, second, size, damaged, number, total)

    def _pictures(self) -> Iterator[VideoFrame]:
        packets = self._container.demux(self._stream)
        while True:
            try:
                packet = next(packets)
            except (StopIteration, EOFError):
                return
            except BROKEN as error:
                raise RecordingError(f"{self._path}: breaks off ({why(error)})") from None
            if packet.is_corrupt:
                self._pending_errors += 1
            packet.opaque = packet.size
            try:
                yield from packet.decode()
            except av.error.EOFError:
                return
            except av.error.FFmpegError:
                self._errors += 1
                self._pending_errors += 1


def measured_frame(seen: Seen) -> Frame:
    """The picture at measuring size, averaged by area."""
    planes = _planes(seen.frame)
    luma = averaged(planes[0], *grid_size(seen.frame.width, seen.frame.height))
    hues = [averaged(plane, COLUMNS, ROWS) for plane in planes[1:3]]
    key = bool(seen.frame.key_frame)
    return Frame(
        second=seen.second,
        luma=luma.copy() if luma is planes[0] else luma,
        limited=_limited(seen.frame),
        chroma=np.stack(hues, axis=-1) if hues else None,
        key=key,
        packet_bytes=seen.packet_bytes,
        full=planes[0].copy() if key else None,
        damaged=seen.damaged,
        number=seen.number,
        bytes_before=seen.bytes_before,
    )


def rgb(frame: VideoFrame) -> Pixels:
    """A small RGB picture."""
    width = min(STILL_WIDTH, frame.width)
    height = max(1, round(frame.height * width / frame.width))
    pixels = frame.reformat(width=width, height=height, format="rgb24").to_ndarray()
    return np.ascontiguousarray(pixels, dtype=np.uint8)


def seek_still(
    container: InputContainer, stream: VideoStream, origin: float, second: float
) -> VideoFrame | None:
    """The first picture at or after ``second``, else the last before it that decodes."""
    for back in SEEK_BACK:
        picture = _seek_once(container, stream, origin + second, back)
        if picture is not None:
            return picture
    return None


def _seek_once(
    container: InputContainer, stream: VideoStream, moment: float, back: float
) -> VideoFrame | None:
    base = stream.time_base or Fraction(1, av.time_base)
    best: VideoFrame | None = None
    try:
        container.seek(max(0, int((moment - back) / base)), stream=stream, backward=True)
        for packet in container.demux(stream):
            try:
                pictures = packet.decode()
            except av.error.InvalidDataError:
                continue
            for picture in pictures:
                best = picture
                if picture.time is not None and picture.time >= moment - 1e-3:
                    return best
    except BROKEN:
        pass  # a still that cannot be had is left out; the damage is reported by frames()
    return best


def stills_in_order(
    container: InputContainer, stream: VideoStream, seconds: Sequence[float]
) -> Iterator[tuple[float, Pixels]]:
    """Stills of a stream that cannot be searched: decoded from its start."""
    rate = float(stated_rate(stream, container) or ASSUMED_RATE)
    wanted = list(seconds)
    number = 0
    for packet in container.demux(stream):
        try:
            pictures = packet.decode()
        except BROKEN:
            continue
        for picture in pictures:
            while wanted and number / rate >= wanted[0] - 0.5 / rate:
                yield wanted.pop(0), rgb(picture)
            number += 1
        if not wanted:
            return
