"""The frames of a short clip of the monitor that are worth reading, kept as photographs."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

from asfound.calc.clip_frames import Signature, changed, luma_of, sharpness, signature
from asfound.errors import RecordingError
from asfound.model.reading import PhotoReading
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import ClipFrame, Pictures, Pixels
from asfound.ports.progress import Progress, silent
from asfound.ports.video import FileFacts, Snapshot, Video

SUFFIXES = frozenset({".mp4", ".mov", ".m4v", ".3gp", ".mkv", ".webm", ".avi"})
"""Endings of files that are taken for clips."""

LONGEST_CLIP_S = 300.0
"""Seconds; what is longer is no clip of a menu but a recording."""

MOST_FRAMES = 150
"""Frames read of one clip."""

LOOK_EVERY_S = 0.2
WINDOW_S = 1.0
"""The sharpest frame of each window is read. A page that is shown for two seconds fills at
least one, even if its neighbour differs in nothing but a digit."""

_QUALITY = 95

_SHAKY_S = 2.0
"""After so many seconds without two frames alike the sharpest single one is read."""

_CLIP_SLACK_S = 1.0
_LABEL = re.compile(r" @ \d+\.\d s$")


@dataclass(frozen=True, slots=True)
class PickFrames:
    """A clip whose sharp frames are wanted, at most ``longest`` pixels in the longer side."""

    clip: Path
    longest: int


@dataclass(frozen=True, slots=True)
class ClipTools:
    """What it takes to look through a clip and to keep its frames."""

    video: Video
    pictures: Pictures
    blobs: Blobs


@dataclass(slots=True)
class _Stretch:
    """Frames that show nothing surely different, of at most WINDOW_S, and the sharpest."""

    start: float
    frames: int
    sharpness: float
    second: float
    pixels: Pixels


def is_clip(path: Path) -> bool:
    """True for a file whose name ends like a clip's."""
    return path.suffix.lower() in SUFFIXES


def clip_of(file: str) -> str:
    """The clip's own path out of a frame's ("clip.mp4 @ 3.2 s"); a photograph's as it is."""
    return _LABEL.sub("", file)


def pick_frames(
    request: PickFrames, *, tools: ClipTools, progress: Progress = silent
) -> tuple[PhotoReading, ...]:
    """Unread photographs, in the clip's order, each stored with its clip's hash and second.

    What cannot be opened, is too long, shows nothing or breaks off is noted on one more
    photograph, marked as damaged, behind the frames that there are. Raises StorageError, and
    Interrupted through ``progress``.
    """
    path = request.clip
    try:
        facts = tools.video.facts(path)
    except RecordingError as error:
        return (_damaged(path, str(error)),)
    if not facts.streams:
        return (_damaged(path, f"{path.name}: holds no moving pictures; leave it out"),)
    length = facts.streams[0].duration_s
    if length is not None and length > LONGEST_CLIP_S:
        much = f"{length / 60:.0f} minutes long, at most {LONGEST_CLIP_S / 60:.0f} are read"
        return (_damaged(path, f"{path.name}: {much}; film the pages in shorter clips"),)
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    frames: list[PhotoReading] = []
    try:
        for stretch in _stretches(request, tools.video, length, progress):
            if len(frames) == MOST_FRAMES or stretch.second > LONGEST_CLIP_S:
                note = f"only the first {stretch.second:.0f} s were read; film fewer pages in one"
                frames.append(_damaged(path, f"{path.name}: {note}"))
                break
            frames.append(_kept(path, stretch, _about(digest, stretch.second, facts), tools))
    except RecordingError as error:
        frames.append(_damaged(path, str(error)))
    if not frames:
        frames.append(_damaged(path, f"{path.name}: no picture could be decoded; film it again"))
    return tuple(frames)


def without_blank_frames(photos: Sequence[PhotoReading]) -> list[PhotoReading]:
    """Leaves out frames that show no page, which is usual while the phone moves.

    A note on a frame that stays says how many went; of a clip that shows no page at all one
    frame stays, so that this is not overlooked.
    """
    kept: list[PhotoReading] = []
    lost = Counter(photo.clip for photo in photos if photo.clip and photo.page is None)
    told = {photo.clip for photo in photos if photo.clip and photo.page is not None}
    for photo in photos:
        blank = photo.clip in lost and photo.page is None
        if blank and (photo.clip in told or lost[photo.clip] == 0):
            continue
        if lost.get(photo.clip):
            note = f"{lost[photo.clip]} of the clip's frames show no page of this map"
            photo = replace(photo, note="; ".join(filter(None, (photo.note, note))))
            lost[photo.clip] = 0
        kept.append(photo)
    return kept


def _stretches(
    request: PickFrames, video: Video, length: float | None, progress: Progress
) -> Iterator[_Stretch]:
    """Steady stretches one after the other.

    A frame that is unlike the one before and the one after is left out: the phone was on its
    way, or the shutter met two pages, one above the other.
    """
    before: Signature | None = None
    present: _Stretch | None = None
    single: _Stretch | None = None
    kept_at = 0.0
    for shot in video.snapshots(request.clip, 0, LOOK_EVERY_S, request.longest):
        total = max(length or 0.0, shot.second)
        progress(int(shot.second), int(total), f"{request.clip.name}: looking for sharp frames")
        luma = luma_of(shot.pixels)
        sharp, now = sharpness(luma), signature(luma)
        other = before is not None and changed(before, now)
        before = now
        if present is not None and (other or shot.second - present.start >= WINDOW_S):
            single = _sharper(single, present)
            if present.frames > 1 or shot.second - kept_at >= _SHAKY_S:
                yield present if present.frames > 1 else single
                kept_at, single = shot.second, None
            present = None
        present = _longer(present, shot, sharp)
    if present is not None and (present.frames > 1 or not kept_at):
        yield _sharper(single, present) if not kept_at else present


def _sharper(one: _Stretch | None, other: _Stretch) -> _Stretch:
    return other if one is None or other.sharpness > one.sharpness else one


def _longer(stretch: _Stretch | None, shot: Snapshot, sharp: float) -> _Stretch:
    """The stretch with one more frame."""
    if stretch is None:
        return _Stretch(shot.second, 1, sharp, shot.second, shot.pixels)
    stretch.frames += 1
    if sharp > stretch.sharpness and not shot.damaged:
        stretch.sharpness, stretch.second, stretch.pixels = sharp, shot.second, shot.pixels
    return stretch


def _about(digest: str, second: float, facts: FileFacts) -> ClipFrame:
    if facts.start is None:
        return ClipFrame(digest, second)
    length = facts.streams[0].duration_s or LONGEST_CLIP_S
    taken = facts.start + timedelta(seconds=second)
    return ClipFrame(digest, second, taken, length + _CLIP_SLACK_S)


def _kept(path: Path, stretch: _Stretch, about: ClipFrame, tools: ClipTools) -> PhotoReading:
    name = tools.blobs.put(tools.pictures.encode_jpeg(stretch.pixels, _QUALITY, about))
    file = f"{path} @ {stretch.second:.1f} s"
    return PhotoReading(file, name, None, 0.0, (), clip=about.clip)


def _damaged(path: Path, note: str) -> PhotoReading:
    return PhotoReading(str(path), "", None, 0.0, (), note.replace(str(path), path.name), True)
