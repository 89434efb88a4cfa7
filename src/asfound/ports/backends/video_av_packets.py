"""Which packets of a recording make up a clip: from key pictures on, nothing decoded."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
from av.container import InputContainer
from av.packet import Packet
from av.stream import Stream
from av.video.stream import VideoStream

from asfound.ports.backends.video_av_pictures import ASSUMED_RATE, BROKEN, RAW, stated_rate
from asfound.ports.clips import Span
from asfound.ports.progress import Progress

PULSE = 500
"""Progress is told each so many packets."""


@dataclass(slots=True)
class Track:
    """One stream of the recording: which of its packets (counted from 0) go into the clip.

    ``first`` is the key picture to begin at, shown at ``begins``; ``last`` the last packet, in
    the file's order, that is shown before the wanted end or before one that such a packet
    leans on. ``reach``: when the latest packet up to ``last`` is shown, ``latest``: the same of
    all seen so far; ``ends``: when the last copied one ends. Moments in the container's count [s].
    """

    index: int
    video: bool
    step: Fraction
    origin: Fraction | None = None
    first: int | None = None
    begins: Fraction | None = None
    last: int = -1
    reach: Fraction = Fraction(-(10**9))
    latest: Fraction = Fraction(-(10**9))
    ends: Fraction | None = None
    late: bool = False
    passed: bool = False
    digest: hashlib._Hash = field(default_factory=hashlib.sha256)
    packets: int = 0


def kept_streams(source: InputContainer) -> list[Stream]:
    """Pictures and sound, cover pictures left out."""
    cover = av.stream.Disposition.attached_pic
    video = [item for item in source.streams.video if not item.disposition & cover]
    return [*video, *source.streams.audio]


def tracks_of(source: InputContainer) -> list[Track]:
    """A track for each stream that goes into a clip, in the order of ``kept_streams``."""
    made = []
    for stream in kept_streams(source):
        rate: Fraction | None = None
        if isinstance(stream, VideoStream):
            rate = stated_rate(stream, source)
        step = 1 / Fraction(rate or ASSUMED_RATE)
        made.append(Track(stream.index, isinstance(stream, VideoStream), step))
    return made


def assumed_rate(source: InputContainer) -> float | None:
    """Pictures a second that times are counted at when the recording states nothing."""
    stated = [stated_rate(stream, source) for stream in source.streams.video]
    return float(ASSUMED_RATE) if source.format.name in RAW and not all(stated) else None


def packets_of(
    source: InputContainer, tracks: Sequence[Track], progress: Progress
) -> Iterator[tuple[Track, int, Packet[Any], Fraction, Fraction]]:
    """(track, number in it, packet, moment it is shown, moment it is decoded) in file order."""
    by_index = {track.index: track for track in tracks}
    counted = dict.fromkeys(by_index, 0)
    bare = source.format.name in RAW
    for done, packet in enumerate(_readable(source)):
        if done % PULSE == 0:
            progress(max(packet.pos or 0, 0), source.size, Path(source.name).name)
        track = by_index[packet.stream_index]
        number = counted[track.index]
        counted[track.index] = number + 1
        base = packet.time_base or Fraction(1, av.time_base)
        shown = packet.pts if packet.pts is not None else packet.dts
        coded = packet.dts if packet.dts is not None else packet.pts
        if bare or shown is None or coded is None:
            moment = number * track.step
            yield track, number, packet, moment, moment
        else:
            yield track, number, packet, shown * base, coded * base


def _readable(source: InputContainer) -> Iterator[Packet[Any]]:
    """Packets with something in them, up to where reading breaks off."""
    packets = iter(source.demux(*kept_streams(source)))
    while True:
        try:
            packet = next(packets)
        except (StopIteration, EOFError, *BROKEN):
            return
        if packet.size:
            yield packet


def find_ends(
    source: InputContainer, tracks: Sequence[Track], wanted: Span, progress: Progress
) -> None:
    """Find first and last packet of each track."""
    video = [track for track in tracks if track.video]
    for track, number, packet, shown, coded in packets_of(source, tracks, progress):
        if track.video:
            track.origin = shown if track.origin is None else min(track.origin, shown)
        zero = video[0].origin if video else None
        if zero is None:
            continue
        track.latest = max(track.latest, shown)
        begin, end = _fraction(wanted.start_s) + zero, _fraction(wanted.end_s) + zero
        if track.video and packet.is_keyframe and shown < end:
            late = shown > begin
            if track.first is None or not late:
                track.first, track.begins, track.late = number, shown, late
        if shown < max(end, track.reach):
            track.last, track.reach = number, track.latest
        if coded >= max(end, track.reach):
            track.passed = True
            # Sound may stand far behind the pictures that it belongs to.
            if all(item.passed for item in tracks):
                return


def _fraction(seconds: float) -> Fraction:
    # To the microsecond: 0.1 is meant as one tenth, not as its nearest binary fraction.
    return Fraction(round(seconds * 1_000_000), 1_000_000)
