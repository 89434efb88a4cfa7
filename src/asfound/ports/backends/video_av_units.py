"""What a packet's own bytes show without decoding: damage, and whether others lean on it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from av.video.stream import VideoStream
from numpy.typing import NDArray

ZEROS = bytes(8)
"""Three zero bytes in a row cannot stand in a NAL unit (H.264 7.4.1); unread sectors are zeros."""
SLICES = range(1, 6)
"""NAL unit types of a picture's own parts (H.264 table 7-1)."""
SLACK_S = 1e-3
"""Times in containers are rounded to the millisecond."""


def length_size(stream: VideoStream) -> int:
    """Bytes of the length before each NAL unit (ISO/IEC 14496-15); 0 for start codes."""
    head = stream.codec_context.extradata or b""
    at = 4 if stream.codec_context.name == "h264" else 21
    return (head[at] & 3) + 1 if len(head) > at and head[0] == 1 else 0


def odd_start(data: bytes, begins: bytes) -> str:
    """What cannot be in a sound packet that begins with a start code ("" = nothing seen)."""
    if not data.lstrip(b"\0").startswith(begins.lstrip(b"\0")):
        return "no start code"
    return "a run of zeros inside" if ZEROS in data and ZEROS in data.strip(b"\0") else ""


def odd(data: bytes, length: int) -> str:
    """What cannot be in a sound packet of NAL units ("" = nothing seen)."""
    if ZEROS in data and ZEROS in data.strip(b"\0"):
        return "a run of zeros inside"
    if length:
        at = 0
        while at + length < len(data):
            step = int.from_bytes(data[at : at + length], "big")
            # forbidden_zero_bit, H.264 7.4.1 and H.265 7.4.2.2.
            if not step or data[at + length] & 0x80:
                return "units that cannot be"
            at += length + step
        if at != len(data):
            return "units that do not fill it"
    return ""


def leaned_on(data: bytes, length: int) -> bool:
    """May other pictures lean on this one of H.264 (nal_ref_idc, 7.4.1)? ``length``: bytes of the
    length before each unit, 0 for start codes."""
    at = 0
    while True:
        if length:
            head = at + length
            at = head + int.from_bytes(data[at:head], "big")
        else:
            at = head = data.find(b"\0\0\1", at) + 3
            if head < 3:
                return True
        if head >= len(data):
            return True
        if data[head] & 0x1F in SLICES:
            return bool(data[head] & 0x60)


def spared(seconds: NDArray[np.float64], leaned: Sequence[bool], every_s: float) -> set[int]:
    """Which pictures may be left undecoded: nothing leans on them (``leaned``: False), and those
    that are left are no more than ``every_s`` apart. ``seconds`` (n): when each is shown."""
    out: set[int] = set()
    order = np.argsort(seconds, kind="stable").tolist()
    last = float(seconds[order[0]])
    for at, after in pairwise(order[1:]):
        if not leaned[at] and float(seconds[after]) - last <= every_s + SLACK_S:
            out.add(at)
        else:
            last = float(seconds[at])
    return out


HOLE_BYTES = 2048
"""Bytes beyond what packets take that are no mere table between two of them."""
HOLES, HOLE_SHARE = 2, 0.02
"""More holes than this, and than this share of the packets: the file is filled up so."""


class Holes:
    """Looks for bytes between packets that belong to none, in files of one stream whose packets
    stand one behind the other: AVI (chunks with a header of 8 bytes, padded to even sizes) and
    MPEG-TS (188 bytes with a header of 4; ISO/IEC 13818-1)."""

    def __init__(self, container: str, streams: int) -> None:
        self._avi = container == "avi"
        self._looks = streams == 1 and (self._avi or container == "mpegts")
        self._end: int | None = None
        self._packets = self._found = 0

    def before(self, pos: int | None, size: int) -> str:
        """What is odd before the packet at ``pos`` of ``size`` bytes ("" = nothing seen)."""
        if not self._looks or pos is None:
            return ""
        hole = 0 if self._end is None else pos - self._end
        self._end = pos + (size + (size & 1) + 8 if self._avi else -(-size // 184) * 188)
        self._packets += 1
        if hole < HOLE_BYTES:
            return ""
        self._found += 1
        filled = self._found > max(HOLES, HOLE_SHARE * self._packets)
        return "" if filled else f"{hole} bytes before it belong to nothing"
