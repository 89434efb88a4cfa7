"""The footage simulator: writes encoded files of several channels, with faults put in.

Every file is made by a real encoder. The prover shares no code with this module.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import cv2
import numpy as np
from av.container import OutputContainer
from av.video.stream import VideoStream
from numpy.typing import NDArray

from asfound.demo.footage_scenes import HORIZON, Look, Luma, Sensor, scene, tint
from asfound.model.finding import Expectation

NO_SIGNAL_COLOUR = (41, 240, 110)
"""Y, Cb, Cr of a blue screen (ITU-R BT.601 blue)."""


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong from ``from_s`` to ``to_s`` (None: to the end) of a channel's footage.

    kind: black, no-signal, frozen (``clock_runs``: the recorder burns its clock into the stuck
    picture), gap (nothing recorded), cut-off (the file's end is missing), zero (an empty file).
    """

    kind: str
    from_s: float = 0.0
    to_s: float | None = None
    clock_runs: bool = True

    def covers(self, second: float) -> bool:
        """True while the fault lasts."""
        return self.from_s <= second and (self.to_s is None or second < self.to_s)


@dataclass(frozen=True, slots=True)
class Coding:
    """How a channel is coded. ``options`` go to the encoder; suffix picks the container."""

    codec: str = "libx264"
    options: tuple[tuple[str, str], ...] = (("preset", "superfast"), ("crf", "27"))
    bit_rate: int | None = None
    key_every_s: float = 1.0
    suffix: str = ".mp4"


@dataclass(frozen=True, slots=True)
class Camera:
    """One channel: what it sees, its size [px] and rate [1/s], and its faults."""

    channel: int
    name: str
    scene: str = "road"
    width: int = 640
    height: int = 360
    rate: int = 12
    noise: float = 1.6
    faults: tuple[Fault, ...] = ()
    coding: Coding = field(default_factory=Coding)


@dataclass(frozen=True, slots=True)
class Drive:
    """One drive: seed, aware start, length [s], length of a file [s], cameras."""

    seed: int
    start: datetime
    seconds: float
    cameras: tuple[Camera, ...]
    file_seconds: float = 3600.0


def constant(bit_rate: int, key_every_s: float = 1.0) -> Coding:
    """H.264 at a constant bit rate [bit/s], as recorders code: easy pictures are filled up."""
    rate = str(bit_rate)
    limits = (("maxrate", rate), ("bufsize", rate), ("nal-hrd", "cbr"))
    return Coding(
        options=(("preset", "superfast"), *limits), bit_rate=bit_rate, key_every_s=key_every_s
    )


def as_promised(
    expectation: Expectation, scenes: Sequence[str], faults: Mapping[int, tuple[Fault, ...]]
) -> tuple[Camera, ...]:
    """Cameras that record what is expected of them, but for ``faults`` by channel.

    Scenes are dealt out in turn. What the expectation leaves open is as Camera has it.
    """
    made = []
    for number, channel in enumerate(expectation.channels):
        plain = Camera(channel.channel, channel.name, scenes[number % len(scenes)])
        made.append(
            replace(
                plain,
                width=channel.width or plain.width,
                height=channel.height or plain.height,
                rate=round(channel.rate_fps or plain.rate),
                faults=faults.get(channel.channel, ()),
                coding=constant(round(channel.bitrate_bps)) if channel.bitrate_bps else Coding(),
            )
        )
    return tuple(made)


def film(drive: Drive, folder: Path) -> tuple[Path, ...]:
    """Film every camera into ``folder``; files are named camN_YYYYMMDDTHHMMSSZ and a suffix."""
    folder.mkdir(parents=True, exist_ok=True)
    return tuple(path for camera in drive.cameras for path in _film_camera(drive, camera, folder))


def _film_camera(drive: Drive, camera: Camera, folder: Path) -> Iterator[Path]:
    pictures = _pictures(drive, camera)
    for first, count in _files(drive, camera):
        start = drive.start + timedelta(seconds=first / camera.rate)
        path = folder / f"cam{camera.channel}_{start:%Y%m%dT%H%M%SZ}{camera.coding.suffix}"
        taken = (next(pictures) for _ in range(count))
        write(path, taken, camera, start)
        for fault in camera.faults:
            if fault.kind == "zero":
                path.write_bytes(b"")
            if fault.kind == "cut-off":
                data = path.read_bytes()
                path.write_bytes(data[: int(len(data) * 0.6)])
        yield path


def _files(drive: Drive, camera: Camera) -> list[tuple[int, int]]:
    """(number of the first picture, how many) of each file, gaps left out."""
    total = round(drive.seconds * camera.rate)
    cuts = {0, total, *range(0, total, max(1, round(drive.file_seconds * camera.rate)))}
    for fault in camera.faults:
        if fault.kind == "gap":
            cuts |= {round(fault.from_s * camera.rate)}
            cuts |= {total if fault.to_s is None else round(fault.to_s * camera.rate)}
    ordered = sorted(cut for cut in cuts if cut <= total)
    return [
        (first, last - first)
        for first, last in pairwise(ordered)
        if not any(f.kind == "gap" and f.covers(first / camera.rate) for f in camera.faults)
    ]


def _pictures(drive: Drive, camera: Camera) -> Iterator[NDArray[np.uint8]]:
    """Planar YCbCr 4:2:0 pictures with faults and burned-in line, gaps left out."""
    look = Look(camera.width, camera.height, drive.seed * 101 + camera.channel, noise=camera.noise)
    seen, sensor = scene(camera.scene, look, drive.seconds), Sensor(look)
    stuck: dict[Fault, tuple[Luma, float]] = {}
    for number in range(round(drive.seconds * camera.rate)):
        second = number / camera.rate
        active = [fault for fault in camera.faults if fault.covers(second)]
        if any(fault.kind == "gap" for fault in active):
            continue
        luma, shown, colour = sensor.expose(seen.picture(second)), second, tint(camera.scene)
        for fault in active:
            if fault.kind == "frozen":
                stuck.setdefault(fault, (luma, second))
                luma = stuck[fault][0]
                shown = second if fault.clock_runs else stuck[fault][1]
            elif fault.kind == "black":
                luma, colour = np.full_like(luma, 16), ((128, 128), (128, 128))
            elif fault.kind == "no-signal":
                luma = np.full_like(luma, NO_SIGNAL_COLOUR[0])
                colour = (NO_SIGNAL_COLOUR[1:], NO_SIGNAL_COLOUR[1:])
        yield _planes(burn_in(luma, camera, drive.start + timedelta(seconds=shown)), colour)


def burn_in(luma: Luma, camera: Camera, at: datetime) -> Luma:
    """The picture with the recorder's line in it: date, time, channel and name."""
    out = luma.copy()
    size = camera.height / 720
    text = f"{at:%Y-%m-%d %H:%M:%S}  CAM {camera.channel} {camera.name}"
    left, base = int(24 * size), int(camera.height * 0.07)
    weight = max(1, int(2 * size))
    for shift, grey in ((weight, 16), (0, 235)):
        place = (left + shift, base + shift)
        cv2.putText(out, text, place, cv2.FONT_HERSHEY_SIMPLEX, size, grey, weight)
    return out


def _planes(luma: Luma, colour: tuple[tuple[int, int], tuple[int, int]]) -> NDArray[np.uint8]:
    height, width = luma.shape
    chroma = np.empty((2, height // 2, width // 2), np.uint8)
    edge = round(height * HORIZON / 2)
    for plane in (0, 1):
        chroma[plane, :edge], chroma[plane, edge:] = colour[0][plane], colour[1][plane]
    return np.vstack([luma, chroma.reshape(-1, width)])


def write(
    path: Path, pictures: Iterator[NDArray[np.uint8]], camera: Camera, start: datetime | None
) -> None:
    """Encode planar 4:2:0 pictures as one file of one stream, stamped with ``start``."""
    with av.open(str(path), "w") as container:
        if start is not None:
            container.metadata["creation_time"] = f"{start:%Y-%m-%dT%H:%M:%S.%fZ}"
        stream = _add_stream(container, camera)
        for number, planes in enumerate(pictures):
            _encode(container, stream, planes, number)
        container.mux(stream.encode(None))


def write_together(path: Path, drive: Drive, cameras: Sequence[Camera] | None = None) -> Path:
    """All channels of a drive as streams of one file, in channel order."""
    chosen = tuple(cameras or drive.cameras)
    with av.open(str(path), "w") as container:
        container.metadata["creation_time"] = f"{drive.start:%Y-%m-%dT%H:%M:%S.%fZ}"
        streams = [_add_stream(container, camera) for camera in chosen]
        sources = [_pictures(drive, camera) for camera in chosen]
        for number, row in enumerate(zip(*sources, strict=True)):
            for stream, planes in zip(streams, row, strict=True):
                _encode(container, stream, planes, number)
        for stream in streams:
            container.mux(stream.encode(None))
    return path


def _add_stream(container: OutputContainer, camera: Camera) -> VideoStream:
    coding = camera.coding
    options = dict(coding.options)
    stream = container.add_stream(coding.codec, rate=Fraction(camera.rate), options=options)
    if not isinstance(stream, VideoStream):
        raise TypeError(f"{coding.codec} is no video codec")
    stream.width, stream.height = camera.width, camera.height
    stream.pix_fmt = "yuvj420p" if coding.codec == "mjpeg" else "yuv420p"
    stream.gop_size = max(1, round(coding.key_every_s * camera.rate))
    stream.codec_context.time_base = Fraction(1, camera.rate)
    if coding.bit_rate:
        stream.bit_rate = coding.bit_rate
    return stream


def _encode(
    container: OutputContainer, stream: VideoStream, planes: NDArray[np.uint8], number: int
) -> None:
    name = "yuvj420p" if stream.codec.name == "mjpeg" else "yuv420p"
    frame = av.VideoFrame.from_ndarray(planes, format=name)
    frame.pts = number
    frame.time_base = stream.codec_context.time_base
    container.mux(stream.encode(frame))
