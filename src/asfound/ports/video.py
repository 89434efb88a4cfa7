"""Video files: container facts without decoding, pictures small enough to measure, stills."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from asfound.ports.pictures import Pixels


@dataclass(frozen=True, slots=True)
class StreamFacts:
    """What the container says about one video stream.

    ``rate_fps`` and ``duration_s`` are None when neither container nor stream gives them.
    ``bitrate_bps`` is the container's figure, else what the file weighs where it holds nothing
    else, else measured from the packets.
    """

    index: int
    codec: str
    width: int
    height: int
    rate_fps: float | None
    duration_s: float | None
    bitrate_bps: float | None


@dataclass(frozen=True, slots=True)
class FileFacts:
    """What the container says; ``start`` is aware when the file carries a time with zone.

    ``cut_off`` says in one line what shows that the file ends before it should ("" = nothing).
    """

    path: Path
    size_bytes: int
    container: str
    streams: tuple[StreamFacts, ...]
    audio_streams: int
    start: datetime | None
    cut_off: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """A decoded picture: seconds from the stream's first picture, and its luma.

    ``luma`` (height x width, 0..255) is scaled down by area to the measuring grid of
    calc.picture_faults; ``chroma`` (rows x columns x 2, Cb and Cr) holds one value a tile, None
    for grey video. ``limited`` is True for the 16..235 range of ITU-R BT.601/709.
    ``number`` pictures were decoded before this one, and ``bytes_before`` is what they and
    this one took in the file; ``packet_bytes`` is this one's own part. ``key``: coded without
    reference to others; only then ``full`` is its luma at full size. ``damaged``: the decoder
    met errors in it or since the picture before.
    """

    second: float
    luma: NDArray[np.uint8]
    limited: bool
    chroma: NDArray[np.uint8] | None = None
    key: bool = False
    packet_bytes: int = 0
    full: NDArray[np.uint8] | None = None
    damaged: bool = False
    number: int = 0
    bytes_before: int = 0


class LongGroup(Exception):
    """Key pictures lie too far apart to hold all packets between two: read frames() instead."""


class Group(Protocol):
    """The packets from one key picture to the next, not decoded yet.

    ``number`` pictures came before it. ``seconds`` (n, in order of decoding, from the stream's
    first key picture) and ``sizes`` (n, bytes without filling) are those of its pictures;
    ``size_bytes`` counts filling as well. ``keys`` of its pictures are key pictures: one, but
    several where every picture is one. ``next_s``: the next key picture's second, None at the
    end. ``jumped``: seconds by which the times ran backwards before it (0 = they did not; they
    are counted on as if they had not). ``suspect``: what shows without decoding that something
    in it is damaged ("" = nothing).
    """

    number: int
    seconds: NDArray[np.float64]
    sizes: NDArray[np.int64]
    size_bytes: int
    keys: int
    next_s: float | None
    jumped: float
    suspect: str

    def key(self) -> Frame | None:
        """Its first picture, decoded by itself; None when that cannot be done."""
        ...

    def frames(self, every_s: float, sound: bool = False) -> Iterator[Frame]:
        """Its pictures and the next key picture: the first and the last, every damaged one, of
        others at most one each ``every_s`` seconds. ``sound``: nothing speaks of damage, so that
        pictures which no other leans on need not be decoded as long as the rest lie no farther
        apart than that. Valid until the next group but two is read, and only one group's at a
        time."""
        ...


@dataclass(frozen=True, slots=True)
class Snapshot:
    """A decoded picture to read from: seconds from the stream's first picture, and RGB pixels,
    turned upright as the container says. ``damaged``: the decoder met errors before it."""

    second: float
    pixels: Pixels
    damaged: bool = False


class Finder(Protocol):
    """Finds recordings. Never writes."""

    def find(self, path: Path) -> Iterable[Path]:
        """``path`` itself, or the recordings below a folder, sorted, as they are asked for.
        Links inside the folder are not followed. A folder below it that cannot be read comes as
        if it were a recording, and is one that cannot be opened. Raises, before the first is
        asked for, NotFound (no such path) and RecordingError (a folder without recordings)."""
        ...


class Video(Finder, Protocol):
    """A reader of video files. Never writes."""

    def rate(self, path: Path) -> float:
        """Bytes a second that can be counted on when it is read."""
        ...

    def size(self, path: Path) -> int:
        """Bytes of a file; 0 when that cannot be told."""
        ...

    def facts(self, path: Path) -> FileFacts:
        """Container facts; a file without bytes has no streams. Raises NotFound, and
        RecordingError when the file cannot be opened as video."""
        ...

    def frames(self, path: Path, stream: int, every_s: float = 0.0) -> Iterator[Frame]:
        """Decoded pictures in order: at most one each ``every_s`` seconds, but every key and
        every damaged picture, and the last. ``stream`` counts the file's video streams from 0.
        Raises RecordingError where decoding breaks off for good."""
        ...

    def groups(self, path: Path, stream: int, keys_every_s: float) -> Iterator[Group]:
        """The stream's packets in groups that begin with a key picture; key pictures less than
        ``keys_every_s`` after that begin none. Packets before the first key picture are left
        out. Raises LongGroup, and RecordingError where reading breaks off for good."""
        ...

    def loudness(self, path: Path, seconds: Sequence[float], length_s: float) -> float | None:
        """RMS level [dB re full scale] of the loudest channel in the loudest of the samples of
        ``length_s`` that begin at ``seconds``, -120 at least; None where no sound can be decoded.
        Raises RecordingError when the file cannot be opened."""
        ...

    def snapshots(
        self, path: Path, stream: int, every_s: float, longest: int | None = None
    ) -> Iterator[Snapshot]:
        """Decoded pictures in order and in full size (``longest``: the most pixels of the
        longer side), at most one each ``every_s`` seconds. Raises RecordingError when the file
        cannot be opened or where decoding breaks off for good."""
        ...

    def shots(
        self, path: Path, stream: int, seconds: Sequence[float], key: bool = True
    ) -> Iterator[Snapshot]:
        """Single pictures in full size near each of ``seconds`` (ascending): the key picture
        before it, or with ``key`` False the first from it on, which costs more; each picture
        once. Files without times of their own are decoded from their start, every picture.
        Seconds that cannot be decoded are left out. Raises RecordingError when the file cannot
        be opened, and, only for files without times, where decoding breaks off."""
        ...

    def stills(
        self, path: Path, stream: int, seconds: Sequence[float]
    ) -> Iterator[tuple[float, Pixels]]:
        """(second, small RGB picture) near each of ``seconds`` (ascending); seconds that
        cannot be decoded are left out. Raises RecordingError when the file cannot be opened."""
        ...
