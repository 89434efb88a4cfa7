"""Packets by PyAV in groups from key picture to key picture, decoded only where asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import av
import numpy as np
from av.container import InputContainer
from av.packet import Packet
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

from asfound.errors import RecordingError
from asfound.ports.backends.video_av_pictures import (
    ASSUMED_RATE,
    BROKEN,
    RAW,
    Seen,
    measured_frame,
    stated_rate,
    why,
)
from asfound.ports.backends.video_av_units import (
    Holes,
    leaned_on,
    length_size,
    odd,
    odd_start,
    spared,
)
from asfound.ports.video import Frame, LongGroup

MOST_PICTURES, MOST_BYTES = 1500, 48 << 20
"""A group of more pictures or bytes is not held in memory."""
ROUNDING_S = 1e-6
LEADING_S = 1.0
"""Pictures shown before the key picture they follow in the file lie this little before it."""
HOLE, HOLE_S = 4.0, 0.5
"""Pictures so many of their usual steps apart, and so many seconds: some between are missing, and
those beside the hole may be damaged (a container's reader passes over what it cannot read)."""
NALS = frozenset({"h264", "hevc"})
"""Codecs whose packets are rows of NAL units (ITU-T H.264 and H.265, annex B)."""
BEGINS = dict.fromkeys(("mpeg4", "mpeg2video", "mpeg1video"), b"\0\0\1")
"""Start codes that pictures of these codecs begin with (ISO/IEC 14496-2 6.2, 13818-2 6.2); no
longer row of zeros can stand inside."""


@dataclass(slots=True)
class AvGroup:
    """See ports.video.Group."""

    reader: GroupReader
    number: int
    seconds: NDArray[np.float64]
    sizes: NDArray[np.int64]
    size_bytes: int
    keys: int
    next_s: float | None
    jumped: float
    suspect: str
    packets: Sequence[Packet[VideoStream]]
    follows: Packet[VideoStream] | None

    def key(self) -> Frame | None:
        """See ports.video.Group."""
        return self.reader.decode_key(self)

    def frames(self, every_s: float, sound: bool = False) -> Iterator[Frame]:
        """See ports.video.Group."""
        return self.reader.decode(self, every_s, sound and not self.suspect)


class _Piece(NamedTuple):
    """One packet: its second by its own stamp (NaN: none), bytes, what is odd about it, and
    whether bytes before it belong to nothing.

    A tuple, because one is made of every packet."""

    packet: Packet[VideoStream]
    second: float
    size: int
    suspect: str
    after_hole: bool


class GroupReader:
    """Reads one stream's packets and decodes groups of them."""

    def __init__(self, path: Path, container: InputContainer, stream: VideoStream) -> None:
        self._path = path
        self._container = container
        self._stream = stream
        self._codec = stream.codec_context
        self._codec.thread_type = "NONE"
        self._codec.thread_count = 1
        self._codec.copy_opaque = True
        self._rate = float(stated_rate(stream, container) or ASSUMED_RATE)
        self._counted = container.format.name in RAW
        # AVI counts chunks in the order of decoding; empty ones stand for pictures left out.
        self._chunks = container.format.name == "avi"
        self._nals = stream.codec_context.name in NALS
        self._begins = BEGINS.get(stream.codec_context.name, b"")
        self._length = length_size(stream) if self._nals else 0
        self._holes = Holes(container.format.name, len(container.streams))
        self._origin: float | None = None
        self._shift = 0.0
        self._number = 0
        self._last = 0.0
        self._lost = 0
        """Packets that failed to decode since the last picture."""

    def groups(self, keys_every_s: float) -> Iterator[AvGroup]:
        """See ports.video.Video.groups."""
        held: list[_Piece] = []
        keys = size = taken = 0
        broke: RecordingError | None = None
        pieces = self._pieces()
        while True:
            try:
                piece = next(pieces, None)
            except RecordingError as error:
                piece, broke = None, error
            if piece is None:
                break
            key = piece.packet.is_keyframe
            if not held and not key:
                continue
            if held and key and self._apart(held[0], piece, len(held)) >= keys_every_s:
                yield self._group(held, keys, piece)
                held, keys, size = [], 0, 0
            held.append(piece)
            keys += key
            taken += 1
            size += piece.packet.size
            if len(held) > MOST_PICTURES or size > MOST_BYTES:
                raise LongGroup
        if held:
            yield self._group(held, keys, None)
        if broke is not None:
            raise broke

    def _apart(self, one: _Piece, two: _Piece, pictures: int) -> float:
        """Seconds from one key picture to another, half a picture's length added."""
        apart = two.second - one.second
        if not apart > 0:  # backwards, or no times: counted
            apart = pictures / self._rate
        return apart + 0.5 / self._rate

    def _pieces(self) -> Iterator[_Piece]:
        packets = self._container.demux(self._stream)
        base = float(self._stream.time_base or 0)
        while True:
            try:
                packet = next(packets)
            except (StopIteration, EOFError):
                return
            except BROKEN as error:
                raise RecordingError(f"{self._path}: breaks off ({why(error)})") from None
            if not packet.size:
                continue
            stamp = packet.dts if self._chunks else packet.pts
            stamp = None if self._counted else stamp
            second = float("nan") if stamp is None else stamp * base
            size, suspect = packet.size, "" if not packet.is_corrupt else "the container says so"
            if self._nals:
                data = bytes(packet)
                # Filler data (H.264 7.3.2.7) keeps constant bit rates: bytes FF, then 80.
                size = len(data.rstrip(b"\x80").rstrip(b"\xff"))
                suspect = suspect or odd(data, self._length)
            elif self._begins:
                suspect = suspect or odd_start(bytes(packet), self._begins)
            hole = self._holes.before(packet.pos, packet.size)
            yield _Piece(packet, second, size, suspect or hole, bool(hole))

    def _group(self, held: Sequence[_Piece], keys: int, follows: _Piece | None) -> AvGroup:
        seconds = np.array([piece.second for piece in held])
        counted = np.arange(len(held)) / self._rate
        jumped = 0.0
        step = 1 / self._rate
        if np.isnan(seconds).any():
            seconds = counted + (self._number / self._rate if self._counted else self._last)
        else:
            if self._origin is None:
                self._origin = float(seconds[0])
            seconds = seconds - self._origin + self._shift
            if self._number and seconds[0] <= self._last - step:
                jumped = self._last - float(seconds[0])
                self._shift += jumped
                seconds = seconds + jumped
            back = float(seconds[0] - seconds.min())
            if back > LEADING_S:
                jumped, seconds = max(jumped, back), counted + seconds[0]
        next_s = self._next(follows, seconds, step)
        group = AvGroup(
            reader=self,
            number=self._number,
            seconds=seconds,
            sizes=np.array([piece.size for piece in held], np.int64),
            size_bytes=sum(piece.packet.size for piece in held),
            keys=keys,
            next_s=next_s,
            jumped=jumped,
            suspect=next((piece.suspect for piece in held if piece.suspect), "")
            or (follows.suspect if follows is not None and follows.after_hole else "")
            or _hole(seconds, next_s),
            packets=[piece.packet for piece in held],
            follows=None if follows is None else follows.packet,
        )
        self._number += len(held)
        self._last = float(seconds.max()) + step
        return group

    def _next(
        self, follows: _Piece | None, seconds: NDArray[np.float64], step: float
    ) -> float | None:
        if follows is None:
            return None
        end = float(seconds.max()) + step
        if np.isnan(follows.second) or self._origin is None:
            return end
        stated = follows.second - self._origin + self._shift
        return stated if stated > end - step else end

    def decode_key(self, group: AvGroup) -> Frame | None:
        """The group's first picture by itself."""
        try:
            self._codec.flush_buffers()
            pictures = [*self._codec.decode(group.packets[0]), *self._codec.decode(None)]
        except BROKEN:
            return None
        if not pictures or not pictures[0].key_frame:
            return None
        size = group.packets[0].size
        damaged = bool(pictures[0].is_corrupt)
        second = float(group.seconds[0])
        return measured_frame(Seen(pictures[0], second, size, damaged, group.number, 0))

    def decode(self, group: AvGroup, every_s: float, sound: bool) -> Iterator[Frame]:
        """The group's pictures and the key picture after it."""
        held: Seen | None = None
        last_out = -1e9
        slack = 0.5 / self._rate + ROUNDING_S
        for seen in self._decoded(group, self._spared(group, every_s) if sound else set()):
            if held is not None:
                due = held.second - last_out >= every_s - slack
                if due or held.damaged or held.frame.key_frame:
                    yield measured_frame(held)
                    last_out = held.second
            held = seen
        if held is not None:
            # What fails at the end, after the last picture, is told with that picture.
            yield measured_frame(replace(held, damaged=held.damaged or self._lost > 0))

    def _spared(self, group: AvGroup, every_s: float) -> set[int]:
        """Pictures that need no decoding; none where times are counted by decoded pictures."""
        if self._codec.name != "h264" or self._counted or self._chunks or len(group.packets) < 3:
            return set()
        leaned = [leaned_on(bytes(packet), self._length) for packet in group.packets]
        return spared(group.seconds, leaned, every_s)

    def _decoded(self, group: AvGroup, without: set[int]) -> Iterator[Seen]:
        start = float(group.seconds[0])
        self._lost = failed = 0
        number = 0
        for pictures in self._steps(group, without):
            if pictures is None:
                self._lost += 1
                failed += 1
                continue
            for frame in pictures:
                size, second = _told(frame)
                if self._counted or second is None:
                    second = start + (number + failed) / self._rate
                damaged = bool(frame.is_corrupt) or self._lost > 0
                self._lost = 0
                yield Seen(frame, second, size, damaged, group.number + number, 0)
                number += 1

    def _steps(self, group: AvGroup, without: set[int]) -> Iterator[Sequence[VideoFrame] | None]:
        """Pictures packet by packet; None for a packet that cannot be decoded."""
        start = float(group.seconds[0])
        self._codec.flush_buffers()
        later = [] if group.follows is None else [group.follows]
        seconds = [*group.seconds.tolist(), group.next_s]
        for at, packet in enumerate([*group.packets, *later]):
            if at in without:
                continue
            packet.opaque = (packet.size, seconds[at])
            # Pictures before the key need the group before; they are left out.
            if not self._counted and 0 < at < len(group.seconds) and group.seconds[at] < start:
                continue
            # The container misses parts of it, though what is left may decode without complaint.
            self._lost += packet.is_corrupt
            try:
                yield self._codec.decode(packet)
            except av.error.EOFError:
                break
            except BROKEN:
                yield None
        try:
            yield self._codec.decode(None)
        except BROKEN:
            yield None
        self._codec.flush_buffers()


def _hole(seconds: NDArray[np.float64], next_s: float | None) -> str:
    """Are pictures missing in a group ("" = none seen), or before the next key picture?"""
    steps = np.diff(np.sort(seconds if next_s is None else np.append(seconds, next_s)))
    if len(steps) < 3 or steps.max() < max(HOLE_S, HOLE * float(np.median(steps))):
        return ""
    return f"no pictures for {steps.max():.1f} s"


def _told(frame: VideoFrame) -> tuple[int, float | None]:
    """Bytes and second that the picture's packet was marked with."""
    mark = frame.opaque
    if isinstance(mark, tuple) and len(mark) == 2:
        return int(mark[0]), None if mark[1] is None else float(mark[1])
    return 0, None
