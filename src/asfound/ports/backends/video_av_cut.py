"""Clips by PyAV: packets are copied, nothing is decoded; the clip is read back and compared."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from math import floor
from pathlib import Path

import av
from av.audio.stream import AudioStream
from av.container import InputContainer, OutputContainer
from av.video.stream import VideoStream

from asfound.errors import IntegrityError, NotFound, RecordingError, UsageError
from asfound.ports.backends.disk import storage_error
from asfound.ports.backends.new_file import check_new, hash_file, part_of, publish
from asfound.ports.backends.video_av import FORMATS
from asfound.ports.backends.video_av_packets import (
    Track,
    assumed_rate,
    find_ends,
    kept_streams,
    packets_of,
    tracks_of,
)
from asfound.ports.backends.video_av_pictures import (
    BROKEN,
    why,
)
from asfound.ports.backends.video_source import BUFFER_BYTES, source
from asfound.ports.clips import Clip, Span
from asfound.ports.progress import Progress, silent

MUXERS = (
    ("mov", "mp4"),
    ("matroska", "matroska"),
    ("avi", "avi"),
    ("mpegts", "mpegts"),
    ("mpeg", "vob"),
    ("h264", "h264"),
    ("hevc", "hevc"),
    ("mjpeg", "mjpeg"),
)
"""How the reader of a container begins its name -> the writer of the same container."""

BY_SUFFIX = {".mov": "mov", ".webm": "webm"}
"""Kinds of MP4 and Matroska that a suffix tells apart."""

OWN_TAGS = frozenset({"major_brand", "minor_version", "compatible_brands", "encoder"})
"""What the writer says of itself, not the recorder of the recording."""


class AvCutter:
    """Cuts clips by PyAV."""

    def cut(self, path: Path, wanted: Span, out: Path, progress: Progress = silent) -> Clip:
        """A clip of ``path`` in a new file ``out``."""
        _check(path, out)
        with _opened(path) as source:
            muxer = _muxer(path, source)
            tracks = tracks_of(source)
            assumed = assumed_rate(source)
            find_ends(source, tracks, wanted, progress)
        origin = _origin(path, tracks, wanted)
        with part_of(out) as part:
            with _opened(path) as source:
                left_out = _left_out(source, tracks)
                offset = min(t.begins for t in tracks if t.video and t.begins is not None)
                job = _Job(tracks, offset, origin, wanted, progress, out)
                _copy(path, source, part, muxer, job)
            _compare(part, muxer, tracks, out)
            sha256, size = hash_file(part)
            publish(part, out)
        ends = [t.ends for t in tracks if t.video and t.ends is not None]
        return Clip(
            out=out,
            held=Span(float(offset - origin), float(max(ends) - origin)),
            video=sum(t.video for t in tracks),
            audio=sum(not t.video and t.packets > 0 for t in tracks),
            packets=sum(t.packets for t in tracks),
            size_bytes=size,
            sha256=sha256,
            left_out=left_out,
            starts_late=any(t.late for t in tracks),
            assumed_fps=assumed,
        )


@dataclass(frozen=True, slots=True)
class _Job:
    """What copying needs: ``offset`` is the clip's zero, ``origin`` the recording's [s]; ``out``
    is what a person calls the clip."""

    tracks: Sequence[Track]
    offset: Fraction
    origin: Fraction
    wanted: Span
    progress: Progress
    out: Path


def _check(path: Path, out: Path) -> None:
    if not path.is_file():
        raise NotFound(f"{path}: no such file; check the path")
    check_new(out)
    if out.suffix.lower() != path.suffix.lower():
        raise UsageError(
            f"{out}: the clip stays the kind of file that it is; let its name end with "
            f"{path.suffix or 'no suffix'}"
        )


@contextmanager
def _opened(path: Path) -> Iterator[InputContainer]:
    options = {"format_whitelist": FORMATS, "protocol_whitelist": "file"}
    with source(path) as where:
        try:
            container = av.open(
                where(), "r", options=options, metadata_errors="replace", buffer_size=BUFFER_BYTES
            )
        except (av.error.FFmpegError, OSError, ValueError) as error:
            raise RecordingError(
                f"{path}: not a recording that can be opened ({why(error)})"
            ) from None
        try:
            yield container
        finally:
            container.close()


def _muxer(path: Path, source: InputContainer) -> str:
    name = source.format.name
    for reader, writer in MUXERS:
        if name.startswith(reader):
            own = BY_SUFFIX.get(path.suffix.lower())
            return own if own and writer in ("mp4", "matroska") else writer
    raise RecordingError(f"{path}: clips of {name} files cannot be cut; take the whole file")


def _origin(path: Path, tracks: Sequence[Track], wanted: Span) -> Fraction:
    """The moment of the first picture; UsageError or RecordingError when there is no clip."""
    video = [track for track in tracks if track.video]
    if not video:
        raise RecordingError(f"{path}: there is no video stream in it")
    origin = video[0].origin
    if origin is None:
        raise RecordingError(f"{path}: no picture in it can be read")
    length = float(max(track.latest + track.step for track in video) - origin)
    if length <= wanted.start_s:
        raise UsageError(
            f"{path}: is {length:.1f} s long, nothing begins at {wanted.start_s:g} s; take a span "
            "inside the recording"
        )
    for track in video:
        if track.first is None or track.last < track.first:
            raise UsageError(
                f"{path}: holds no key picture before {wanted.end_s:g} s in stream "
                f"{track.index}; take a longer span, or one inside the recording"
            )
    return origin


def _left_out(source: InputContainer, tracks: Sequence[Track]) -> tuple[str, ...]:
    kept = {track.index for track in tracks}
    rest = [stream for stream in source.streams if stream.index not in kept]
    return tuple(f"stream {stream.index} ({stream.type})" for stream in rest)


def _copy(path: Path, source: InputContainer, part: Path, muxer: str, job: _Job) -> None:
    try:
        # Through a file of ours, a full disk says so itself.
        with part.open("r+b") as file, av.open(file, "w", format=muxer) as target:
            _describe(source, target, job)
            streams = {
                stream.index: target.add_stream_from_template(stream)
                for stream in kept_streams(source)
                if isinstance(stream, VideoStream | AudioStream)
            }
            _copy_packets(source, target, streams, job)
    except (av.error.FFmpegError, ValueError) as error:
        raise RecordingError(f"{path}: cannot be cut ({why(error)})") from None
    except OSError as error:
        raise storage_error(error, job.out) from None


def _copy_packets(
    source: InputContainer,
    target: OutputContainer,
    streams: dict[int, VideoStream | AudioStream],
    job: _Job,
) -> None:
    ends = {track.index: track.last for track in job.tracks}
    for track, number, packet, shown, _ in packets_of(source, job.tracks, job.progress):
        if all(ends[item.index] < 0 for item in job.tracks):
            return
        if number >= track.last:
            ends[track.index] = -1
        if number > track.last or not _wanted(track, number, shown, job):
            continue
        track.digest.update(bytes(packet))
        track.packets += 1
        length = packet.duration * packet.time_base if packet.duration else track.step
        end = shown + length
        track.ends = end if track.ends is None else max(track.ends, end)
        shift = floor(job.offset / packet.time_base)
        if packet.pts is not None:
            packet.pts -= shift
        if packet.dts is not None:
            packet.dts -= shift
        packet.stream = streams[track.index]
        target.mux(packet)


def _wanted(track: Track, number: int, shown: Fraction, job: _Job) -> bool:
    if not track.video:
        return shown >= job.offset
    # Pictures after a key picture in the file but shown before it lean on what is cut away.
    return track.first is not None and number >= track.first and shown >= (track.begins or 0)


def _describe(source: InputContainer, target: OutputContainer, job: _Job) -> None:
    """Carry over what the recording says of itself; its start moves with the clip's."""
    for key, value in source.metadata.items():
        if key not in OWN_TAGS:
            target.metadata[key] = value
    with suppress(ValueError, OverflowError):
        start = datetime.fromisoformat(source.metadata.get("creation_time", ""))
        start += timedelta(seconds=float(job.offset - job.origin))
        target.metadata["creation_time"] = start.isoformat(timespec="microseconds")


def _compare(part: Path, muxer: str, tracks: Sequence[Track], out: Path) -> None:
    """Read the clip back: every packet must be the recording's, byte for byte."""
    digests = [hashlib.sha256() for _ in tracks]
    try:
        with av.open(f"file:{part}", "r", format=_reader(muxer)) as clip:
            kept = kept_streams(clip)
            places = {stream.index: place for place, stream in enumerate(kept)}
            for packet in clip.demux(*kept):
                if packet.size:
                    digests[places[packet.stream_index]].update(bytes(packet))
    except (*BROKEN, OSError) as error:
        raise IntegrityError(f"{out}: the clip cannot be read back ({why(error)})") from None
    wrong = [
        track.index
        for track, digest in zip(tracks, digests, strict=True)
        if track.digest.digest() != digest.digest()
    ]
    if wrong:
        raise IntegrityError(
            f"{out}: read back, stream {wrong[0]} is not what the recording holds; no clip was "
            "kept, take the whole file"
        )


def _reader(muxer: str) -> str:
    return {"webm": "matroska", "mp4": "mov", "vob": "mpeg"}.get(muxer, muxer)
