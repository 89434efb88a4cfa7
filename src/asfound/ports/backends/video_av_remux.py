"""Remuxing to MP4 by PyAV: packets go over as they are, and what was written is read back.

An MP4 frames the same bytes in other ways than other containers: NAL units with their length
before them, not with start codes (ISO/IEC 14496-15 against ISO/IEC 14496-10 annex B), and AAC
without ADTS headers (ISO/IEC 13818-7). So units are compared, not packets.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import av
from av import library_versions
from av.audio.stream import AudioStream
from av.container import InputContainer, OutputContainer
from av.packet import Packet
from av.stream import Stream
from av.video.stream import VideoStream

from asfound.errors import IntegrityError, RecordingError
from asfound.ports.backends.disk import storage_error
from asfound.ports.backends.video_av import FORMATS
from asfound.ports.backends.video_av_packets import kept_streams
from asfound.ports.backends.video_av_pictures import BROKEN, why
from asfound.ports.backends.video_av_units import length_size
from asfound.ports.remux import Remuxed

UNITS = frozenset({"h264", "hevc"})
ADTS_SHORT, ADTS_LONG = 7, 9

MOST_EARLY = 32
"""Pictures may be shown later than so many others at most: 16 (H.264 A.3.1), and as many fields."""

Sums = tuple[str, ...]
"""The hash of what its packets hold, for each stream."""


class AvRemuxer:
    """See ports.remux.Remuxer."""

    def remux(self, path: Path, out: Path) -> Remuxed:
        """See Remuxer."""
        try:
            with _opened(path) as source:
                if source.format.name.startswith("mov"):
                    raise RecordingError(f"{path}: is an MP4 or its like already")
                left_out, before = _written(path, source, out)
            with av.open(f"file:{out}", "r", format="mov") as made:
                after = _sums(list(made.streams), made)
        except (*BROKEN, ValueError) as error:
            raise RecordingError(f"{path}: cannot be remuxed ({why(error)})") from None
        except OSError as error:
            raise storage_error(error, out) from None
        if after != before:
            raise IntegrityError(f"{path}: remuxed and read back, it is not the same; left out")
        version = ".".join(str(part) for part in library_versions["libavformat"])
        return Remuxed(f"PyAV {av.__version__} with libavformat {version}", left_out)


def _opened(path: Path) -> InputContainer:
    options = {"format_whitelist": FORMATS, "protocol_whitelist": "file"}
    return av.open(f"file:{path}", "r", options=options, metadata_errors="replace")


def _written(path: Path, source: InputContainer, out: Path) -> tuple[tuple[str, ...], Sums]:
    """What was left out, and what went over."""
    with out.open("xb+") as file, av.open(file, "w", format="mp4") as target:
        known = target.supported_codecs
        kept = [one for one in kept_streams(source) if one.codec_context.name in known]
        if not any(isinstance(one, VideoStream) for one in kept):
            raise RecordingError(f"{path}: holds no pictures that an MP4 can hold")
        left = [one for one in source.streams if one.index not in {item.index for item in kept}]
        streams = {
            one.index: target.add_stream_from_template(one)
            for one in kept
            if isinstance(one, VideoStream | AudioStream)
        }
        sums = _Sums(kept)
        _copy(path, source, target, streams, sums)
    said = tuple(f"stream {one.index} ({one.type}, {_codec(one)})" for one in left)
    return said, sums.told()


def _codec(stream: Stream) -> str:
    context = getattr(stream, "codec_context", None)
    return context.name if context is not None else "unknown"


def _copy(
    path: Path,
    source: InputContainer,
    target: OutputContainer,
    streams: dict[int, VideoStream | AudioStream],
    sums: _Sums,
) -> None:
    # A stream's times may begin anywhere; an MP4's begin at 0.
    begins = Fraction(source.start_time or 0, av.time_base)
    waiting: dict[int, list[Packet[Stream]]] = {one.index: [] for one in sums.streams}
    for packet in source.demux(list(sums.streams)):
        if not packet.size:
            continue
        if packet.pts is None:
            raise RecordingError(f"{path}: states no times of its pictures; none are made up")
        sums.add(packet)
        early = waiting[packet.stream_index]
        early.append(packet)
        if packet.dts is None:
            if len(early) > MOST_EARLY:
                raise RecordingError(f"{path}: does not say in which order it is decoded")
            continue
        _order(early)
        for one in early:
            shift = int(begins / (one.time_base or Fraction(1)))
            one.pts = (one.pts or 0) - shift
            one.dts = (one.dts or 0) - shift
            one.stream = streams[one.stream_index]
            target.mux(one)
        early.clear()
    if any(waiting.values()):
        raise RecordingError(f"{path}: does not say in which order it is decoded")


def _order(early: list[Packet[Stream]]) -> None:
    """Moments of decoding for the first packets, where the container keeps none (Matroska): they
    only say the order, which is that of the packets; when pictures are shown is left as it is."""
    for before, after in zip(early[-2::-1], early[:0:-1], strict=True):
        before.dts = (after.dts or 0) - max(before.duration or 0, 1)


def _sums(streams: list[Stream], container: InputContainer) -> Sums:
    sums = _Sums(streams)
    for packet in container.demux(streams):
        if packet.size:
            sums.add(packet)
    return sums.told()


class _Sums:
    """Hashes of what packets hold, however a container frames it."""

    def __init__(self, streams: list[Stream]) -> None:
        self.streams = streams
        self._places = {one.index: place for place, one in enumerate(streams)}
        self._digests = [hashlib.sha256() for _ in streams]
        self._names = [_codec(one) for one in streams]
        self._lengths = [
            length_size(one)
            if isinstance(one, VideoStream) and _codec(one) in UNITS
            else 0
            for one in streams
        ]  # fmt: skip

    def add(self, packet: Packet[Stream]) -> None:
        """Count it in."""
        place = self._places[packet.stream_index]
        codec, digest = self._names[place], self._digests[place]
        for unit in units_of(bytes(packet), codec, self._lengths[place]):
            # Sound without packets of its own (PCM) is cut into pieces anew, others are not.
            if codec in UNITS:
                digest.update(len(unit).to_bytes(8, "big"))
            digest.update(unit)

    def told(self) -> Sums:
        """A hash for each stream, in their order."""
        return tuple(one.hexdigest() for one in self._digests)


def units_of(data: bytes, codec: str, length: int) -> Iterator[bytes]:
    """What a packet holds without its framing; ``length``: bytes of the length before each NAL
    unit, 0 for start codes."""
    if codec in UNITS and length:
        at = 0
        while at + length <= len(data):
            size = int.from_bytes(data[at : at + length], "big")
            yield data[at + length : at + length + size].rstrip(b"\0")
            at += length + size
    elif codec in UNITS:
        # Annex B: zeros before a start code and at the end belong to no unit.
        yield from (one for one in (part.rstrip(b"\0") for part in data.split(b"\0\0\1")) if one)
    elif codec == "aac" and len(data) > ADTS_SHORT and data[0] == 0xFF and data[1] & 0xF6 == 0xF0:
        yield data[ADTS_SHORT if data[1] & 1 else ADTS_LONG :]
    else:
        yield data
