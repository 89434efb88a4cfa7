"""Recordings in a folder of any size: found one by one, links not followed, nothing written."""

from __future__ import annotations

import os
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

from asfound.errors import NotFound, RecordingError

SUFFIXES = frozenset(
    {".mp4", ".m4v", ".mov", ".3gp", ".mkv", ".webm", ".avi", ".ts", ".mts", ".m2ts", ".mpg"}
    | {".mpeg", ".h264", ".264", ".avc", ".h265", ".265", ".hevc", ".mjpeg", ".mjpg"}
)
"""Names that are taken for recordings in a folder; other files are judged by their first bytes."""

SYSTEM = frozenset({"lost+found", "system volume information", "$recycle.bin"})
"""Folders that ext4 and Windows keep for themselves: not being let into them is no fault."""


def recordings(path: Path) -> Iterator[Path]:
    """The file itself, or the recordings below a folder. Sorted as paths are; one folder's names
    are held at a time. Raises at once as ports.video.Video.find."""
    if not path.exists():
        raise NotFound(f"{path}: no such file or folder; check the path")
    if path.is_file():
        return iter((path,))
    if not path.is_dir():
        raise NotFound(f"{path}: a pipe or device, not a file; copy the recording to a file")
    inside = _below(path)
    first = next(inside, None)
    if first is None:
        raise RecordingError(
            f"{path}: no recordings in this folder; name the folder that holds the video files"
        )
    return chain((first,), inside)


def _below(folder: Path) -> Iterator[Path]:
    try:
        with os.scandir(folder) as entries:
            names = sorted(
                (entry.name, entry.is_dir(follow_symlinks=False))
                for entry in entries
                if not entry.is_symlink()
            )
    except OSError:
        if folder.name.lower() not in SYSTEM:
            yield folder
        return
    for name, is_folder in names:
        path = folder / name
        if is_folder:
            yield from _below(path)
        elif _is_video(path):
            yield path


def _is_video(path: Path) -> bool:
    if not path.is_file():
        return False
    if path.suffix.lower() in SUFFIXES:
        return True
    try:
        with path.open("rb") as file:
            head = file.read(189)
    except OSError:
        return False
    return (
        head[4:8] == b"ftyp"
        or head[:4] == b"\x1a\x45\xdf\xa3"
        or (head[:4] == b"RIFF" and head[8:12] == b"AVI ")
        or (len(head) == 189 and head[0] == head[188] == 0x47)
    )
