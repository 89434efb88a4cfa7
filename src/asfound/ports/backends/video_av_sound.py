"""How loud a recording's sound is, from short samples."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler
from av.audio.stream import AudioStream
from av.container import InputContainer
from numpy.typing import NDArray

from asfound.ports.backends.video_av_pictures import BROKEN

QUIETEST_DBFS = -120.0
"""Given for digital silence, too."""


def loudness(container: InputContainer, seconds: Sequence[float], length_s: float) -> float | None:
    """See ports.video.Video.loudness."""
    streams = [one for one in container.streams.audio if one.codec_context is not None]
    loudest: float | None = None
    for stream in streams:
        for second in seconds:
            power = _power(container, stream, second, length_s)
            if power is not None:
                level = 10 * np.log10(power) if power > 0 else QUIETEST_DBFS
                known = QUIETEST_DBFS if loudest is None else loudest
                loudest = max(float(level), known, QUIETEST_DBFS)
    return loudest


def _power(
    container: InputContainer, stream: AudioStream, second: float, length_s: float
) -> float | None:
    """Mean square of the loudest channel, full scale = 1, over ``length_s`` from ``second`` on."""
    squares: NDArray[np.float64] | None = None
    count = 0
    for values in _decoded(container, stream, second, length_s):
        part = (values.astype(np.float64) ** 2).sum(axis=1)
        squares = part if squares is None or squares.shape != part.shape else squares + part
        count += values.shape[1]
    return None if squares is None or not count else float(squares.max() / count)


def _decoded(
    container: InputContainer, stream: AudioStream, second: float, length_s: float
) -> Iterator[NDArray[np.float32]]:
    """Channels x samples of each frame, -1 to 1."""
    base = float(stream.time_base or 0)
    start = (stream.start_time or 0) * base
    left = length_s
    resampler = AudioResampler(format="fltp")
    try:
        container.seek(int((start + second) * av.time_base), backward=True)
        for packet in container.demux(stream):
            for frame in packet.decode():
                if not isinstance(frame, AudioFrame) or not frame.sample_rate:
                    continue
                for part in resampler.resample(frame):
                    yield np.asarray(part.to_ndarray(), np.float32)
                left -= frame.samples / frame.sample_rate
                if left <= 0:
                    return
    except (*BROKEN, ValueError):
        return  # sound that cannot be decoded says nothing about how loud it is
