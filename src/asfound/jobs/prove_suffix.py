"""Files whose name says another kind of container than they hold."""

from __future__ import annotations

from collections.abc import Iterator

from asfound.model.finding import Finding, Kind, Recording
from asfound.ports.video import FileFacts

SOURCE = "the file's own signature"

MP4, MATROSKA, AVI, TS, PS = "MP4 or MOV", "Matroska", "AVI", "MPEG-TS", "MPEG-PS"

HELD = {
    "mov": MP4, "matroska": MATROSKA, "avi": AVI, "mpegts": TS, "mpeg": PS, "mpegvideo": PS,
    "m4v": "bare MPEG-4", "h264": "bare H.264", "hevc": "bare H.265", "mjpeg": "bare Motion JPEG",
}  # fmt: skip
"""What is held, by the first of FFmpeg's names for the container."""

SAID = {
    ".mp4": {MP4}, ".mov": {MP4}, ".3gp": {MP4}, ".m4v": {MP4, "bare MPEG-4"},
    ".mkv": {MATROSKA}, ".webm": {MATROSKA}, ".avi": {AVI},
    ".ts": {TS}, ".mts": {TS}, ".m2ts": {TS}, ".mpg": {PS, TS}, ".mpeg": {PS, TS},
    ".h264": {"bare H.264"}, ".264": {"bare H.264"}, ".avc": {"bare H.264"},
    ".h265": {"bare H.265"}, ".265": {"bare H.265"}, ".hevc": {"bare H.265"},
    ".mjpeg": {"bare Motion JPEG"}, ".mjpg": {"bare Motion JPEG"},
}  # fmt: skip
"""What a name says (common practice, no source); other endings say nothing."""


def wrong_suffix(facts: FileFacts, recording: Recording) -> Iterator[Finding]:
    """A finding where ending and content are not the same."""
    suffix = facts.path.suffix.lower()
    held = HELD.get(facts.container.split(",")[0])
    if held is not None and suffix in SAID and held not in SAID[suffix]:
        note = f"its name ends with {suffix}, but it holds {held}: players may refuse it"
        end = recording.duration_s or 0.0
        yield Finding(Kind.WRONG_EXTENSION, 0.0, end, None, None, "", SOURCE, "", note)
