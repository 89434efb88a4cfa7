"""Video by PyAV, whose wheels carry FFmpeg's libraries. Opens files for reading only."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

import av
from av.container import InputContainer
from av.video.stream import VideoStream

from asfound.errors import NotFound, RecordingError
from asfound.ports.backends.video_av_groups import AvGroup, GroupReader
from asfound.ports.backends.video_av_pictures import (
    BROKEN,
    RAW,
    Reader,
    origin_of,
    rgb,
    seek_still,
    stated_rate,
    stills_in_order,
    why,
)
from asfound.ports.backends.video_av_shots import shots
from asfound.ports.backends.video_av_snapshots import snapshots
from asfound.ports.backends.video_av_sound import loudness
from asfound.ports.backends.video_files import reason, recordings, unsearched
from asfound.ports.backends.video_source import BUFFER_BYTES, Source, read_rate, source
from asfound.ports.pictures import Pixels
from asfound.ports.video import FileFacts, Frame, Snapshot, StreamFacts

FORMATS = "mov,matroska,avi,mpegts,mpeg,mpegvideo,m4v,h264,hevc,mjpeg"
"""Containers that are opened. Playlists and picture lists, which lead to other files, are not."""


class AvVideo:
    """Reader of video files by PyAV."""

    def find(self, path: Path) -> Iterator[Path]:
        """The file itself, or the recordings below a folder, sorted by path."""
        return recordings(path)

    def rate(self, path: Path) -> float:
        """Bytes a second that can be counted on."""
        return read_rate(path)

    def size(self, path: Path) -> int:
        """Bytes of a file; 0 when that cannot be told."""
        try:
            return path.stat().st_size
        except (OSError, RecordingError):
            return 0

    def facts(self, path: Path) -> FileFacts:
        """What the container says; bit rates it does not say are measured from the packets."""
        try:
            return self._facts(path)
        except OSError as error:
            # A path too long to be handed over, a drive that fails or is pulled out.
            raise RecordingError(f"{path}: cannot be read ({reason(error)})") from None

    def _facts(self, path: Path) -> FileFacts:
        if path.is_dir():
            raise RecordingError(f"{path}: {unsearched(path)}")
        if path.is_file() and path.stat().st_size == 0:
            return FileFacts(path, 0, "", (), 0, None)
        with _opened(path, quick=True) as container:
            streams = _video_streams(container)
            if not streams and _shown(container):
                raise RecordingError(f"{path}: its video is in a coding that is not known here")
            walked = {}
            if any(not stream.bit_rate or not _length(stream) for stream in streams):
                walked = _weighed(container, streams) or _walk(container, streams)
            return FileFacts(
                path=path,
                size_bytes=path.stat().st_size,
                container=container.format.name,
                streams=tuple(
                    _stream_facts(number, stream, container, walked.get(stream.index))
                    for number, stream in enumerate(streams)
                ),
                audio_streams=len(container.streams.audio),
                start=_start(container),
                cut_off=_cut_off(path, container.format.name),
            )

    def frames(self, path: Path, stream: int, every_s: float = 0.0) -> Iterator[Frame]:
        """Decoded pictures, scaled down to the measuring grid."""
        with _opened(path) as container:
            chosen = _stream(path, container, stream)
            _on_one_thread(chosen)
            chosen.codec_context.copy_opaque = True
            yield from Reader(path, container, chosen, every_s).frames()

    def groups(self, path: Path, stream: int, keys_every_s: float) -> Iterator[AvGroup]:
        """Packets from key picture to key picture, not decoded yet."""
        with _opened(path, quick=True) as container:
            chosen = _stream(path, container, stream)
            yield from GroupReader(path, container, chosen).groups(keys_every_s)

    def loudness(self, path: Path, seconds: Sequence[float], length_s: float) -> float | None:
        """The loudest of short samples of the sound."""
        with _opened(path, quick=True) as container:
            return loudness(container, seconds, length_s)

    def snapshots(
        self, path: Path, stream: int, every_s: float, longest: int | None = None
    ) -> Iterator[Snapshot]:
        """Upright RGB pictures in full size."""
        with _opened(path) as container:
            chosen = _stream(path, container, stream)
            _on_one_thread(chosen)
            chosen.codec_context.copy_opaque = True
            yield from snapshots(path, container, chosen, every_s, longest)

    def shots(
        self, path: Path, stream: int, seconds: Sequence[float], key: bool = True
    ) -> Iterator[Snapshot]:
        """Upright RGB pictures near the wanted seconds, few decoded."""
        with _opened(path) as container:
            chosen = _stream(path, container, stream)
            chosen.codec_context.copy_opaque = True
            yield from shots(path, container, chosen, seconds, key)

    def stills(
        self, path: Path, stream: int, seconds: Sequence[float]
    ) -> Iterator[tuple[float, Pixels]]:
        """Small RGB pictures near the wanted seconds."""
        with _opened(path) as container:
            chosen = _stream(path, container, stream)
            if container.format.name in RAW:
                yield from stills_in_order(container, chosen, seconds)
                return
            origin = origin_of(chosen)
            for second in seconds:
                picture = seek_still(container, chosen, origin, second)
                if picture is not None:
                    yield second, rgb(picture)


QUICK = [{"skip_frame": "all"}] * 64
"""For each stream: no picture is decoded to learn about it; only its colours stay unknown."""


@contextmanager
def _opened(path: Path, quick: bool = False) -> Iterator[InputContainer]:
    """The open container; everything that FFmpeg says about it becomes a RecordingError.

    ``quick``: without decoding, where the container or the stream's headers state picture sizes.
    """
    with source(path) as where:
        container = _open_quickly(path, where) if quick else None
        container = _open(path, where, []) if container is None else container
        try:
            yield container
        finally:
            container.close()


def _open_quickly(path: Path, where: Source) -> InputContainer | None:
    """None where it takes decoding to tell picture sizes, or the file does not open this way:
    MPEG-PS has no list of streams that options could be given for."""
    try:
        container = _open(path, where, QUICK)
    except RecordingError:
        return None
    if all(stream.codec_context.width for stream in _video_streams(container)):
        return container
    container.close()
    return None


def _open(path: Path, where: Source, streams: list[dict[str, str]]) -> InputContainer:
    if not path.exists():
        raise NotFound(f"{path}: no such file; check the path")
    extra: dict[str, Any] = {"stream_options": streams}
    options = {"format_whitelist": FORMATS, "protocol_whitelist": "file"}
    try:
        container: InputContainer = av.open(
            where(),
            "r",
            options=options,
            metadata_errors="replace",
            buffer_size=BUFFER_BYTES,
            **extra,
        )
    except PermissionError:
        raise RecordingError(f"{path}: may not be read; mend its permissions") from None
    except (av.error.FFmpegError, OSError, ValueError) as error:
        raise RecordingError(f"{path}: not a recording that can be opened ({why(error)})") from None
    return container


def _video_streams(container: InputContainer) -> list[VideoStream]:
    """Video streams that can be decoded, cover pictures left out."""
    return [stream for stream in _shown(container) if stream.codec_context is not None]


def _shown(container: InputContainer) -> list[VideoStream]:
    cover = av.stream.Disposition.attached_pic
    return [stream for stream in container.streams.video if not stream.disposition & cover]


def _on_one_thread(stream: VideoStream) -> None:
    """FFmpeg's own threads can wait for each other for ever on damaged files."""
    stream.codec_context.thread_type = "NONE"
    stream.codec_context.thread_count = 1


def _stream(path: Path, container: InputContainer, number: int) -> VideoStream:
    streams = _video_streams(container)
    if not 0 <= number < len(streams):
        raise NotFound(f"{path}: has no video stream {number}; it has {len(streams)}")
    return streams[number]


def _length(stream: VideoStream) -> float | None:
    if stream.duration is None or stream.time_base is None:
        return None
    return float(stream.duration * stream.time_base) or None


def _weighed(
    container: InputContainer, streams: Sequence[VideoStream]
) -> dict[int, tuple[int, int, float | None]]:
    """The file's bytes as those of its only stream, where its length is stated; else nothing."""
    alone = len(streams) == len(container.streams) == 1
    stated = container.duration and container.format.name not in RAW
    if not (alone and stated and container.size > 0):
        return {}
    return {streams[0].index: (container.size, 0, None)}


def _walk(
    container: InputContainer, streams: Sequence[VideoStream]
) -> dict[int, tuple[int, int, float | None]]:
    """Bytes, packets and seconds of each video stream, from its packets without decoding."""
    counted: dict[int, tuple[int, int]] = {stream.index: (0, 0) for stream in streams}
    times: dict[int, list[float]] = {stream.index: [] for stream in streams}
    try:
        for packet in container.demux(*streams):
            if packet.size:
                size, number = counted[packet.stream_index]
                counted[packet.stream_index] = (size + packet.size, number + 1)
                stamp = packet.pts if packet.pts is not None else packet.dts
                if stamp is not None and packet.time_base is not None:
                    ends = times[packet.stream_index]
                    moment = float(stamp * packet.time_base)
                    ends[:] = [min([*ends[:1], moment]), max([*ends[1:], moment])]
    except BROKEN:
        pass  # what breaks off here breaks off again while decoding, and is reported there
    return {
        index: (size, number, ends[1] - ends[0] if (ends := times[index]) else None)
        for index, (size, number) in counted.items()
    }


def _stream_facts(
    number: int,
    stream: VideoStream,
    container: InputContainer,
    walked: tuple[int, int, float | None] | None,
) -> StreamFacts:
    rate = stated_rate(stream, container)
    duration = _length(stream)
    if duration is None and container.duration and container.format.name not in RAW:
        duration = container.duration / av.time_base
    bitrate = float(stream.bit_rate) if stream.bit_rate else None
    if walked:
        size, packets, span = walked
        if duration is None and rate:
            duration = packets / float(rate) if span is None else span + 1 / float(rate)
        if bitrate is None and duration:
            bitrate = 8 * size / duration
    context = stream.codec_context
    return StreamFacts(
        index=number,
        codec=context.name,
        width=context.width,
        height=context.height,
        rate_fps=float(rate) if rate else None,
        duration_s=duration,
        bitrate_bps=bitrate,
    )


def _start(container: InputContainer) -> datetime | None:
    """The container's creation time if it has a time zone (MP4 and Matroska: UTC).

    The epochs of Unix and of MP4 (ISO/IEC 14496-12: 1904) stand for a time that was never set.
    """
    text = container.metadata.get("creation_time", "")
    try:
        start = datetime.fromisoformat(text)
    except ValueError:
        return None
    return start if start.tzinfo is not None and start.timestamp() > 0 else None


def _cut_off(path: Path, container: str) -> str:
    """What the file's size says about its end, where its format allows to tell."""
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(4096)
    if container == "mpegts":
        length = 192 if len(head) > 192 and head[4] == 0x47 and head[0] != 0x47 else 188
        if size % length:
            return f"the file ends inside a packet ({size % length} of {length} bytes)"
    stated = 0
    if container == "avi":
        stated = int.from_bytes(head[4:8], "little") + 8
    if container.startswith("matroska"):
        stated = _matroska_size(head)
    return f"the file holds {size} of {stated} bytes" if stated > size else ""


def _matroska_size(head: bytes) -> int:
    """Where the segment ends (RFC 9559, RFC 8794 section 4); 0 when that is not stated."""
    at = head.find(b"\x18\x53\x80\x67")
    if at < 0 or at + 12 > len(head) or not head[at + 4]:
        return 0
    length = 9 - head[at + 4].bit_length()
    mask = (1 << (7 * length)) - 1
    value = int.from_bytes(head[at + 4 : at + 4 + length], "big") & mask
    return 0 if value == mask else at + 4 + length + value
