"""Video files: container facts without decoding, and frames."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class StreamFacts:
    """What the container says about one video stream."""

    index: int
    codec: str
    width: int
    height: int
    rate_fps: float | None
    duration_s: float | None
    bitrate_bps: float | None


@dataclass(frozen=True, slots=True)
class FileFacts:
    """What the container says; ``start`` is aware when the file carries a time with zone."""

    path: Path
    size_bytes: int
    container: str
    streams: tuple[StreamFacts, ...]
    audio_streams: int
    start: datetime | None


@dataclass(frozen=True, slots=True)
class Frame:
    """A decoded picture: seconds from the stream's start, luma 0..255 (height x width).

    ``limited`` is True for the 16..235 range of ITU-R BT.601/709.
    """

    second: float
    luma: NDArray[np.uint8]
    limited: bool


class Video(Protocol):
    """A reader of video files. Never writes."""

    def facts(self, path: Path) -> FileFacts:
        """Container facts. Raises RecordingError when the file cannot be opened as video."""
        ...

    def frames(self, path: Path, stream: int) -> Iterator[Frame]:
        """Decoded frames in order. Raises RecordingError where decoding breaks off."""
        ...
