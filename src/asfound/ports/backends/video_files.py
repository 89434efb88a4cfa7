"""Recordings in a folder of any size: found one by one, links not followed, nothing written."""

from __future__ import annotations

import os
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

from asfound.errors import NotFound, RecordingError
from asfound.ports.backends.drive_image import drive_image
from asfound.ports.backends.remote_path import RemotePath

SUFFIXES = frozenset(
    {".mp4", ".m4v", ".mov", ".3gp", ".mkv", ".webm", ".avi", ".ts", ".mts", ".m2ts", ".mpg"}
    | {".mpeg", ".h264", ".264", ".avc", ".h265", ".265", ".hevc", ".mjpeg", ".mjpg"}
)
"""Names that are taken for recordings in a folder; other files are judged by their first bytes."""

SYSTEM = frozenset({"lost+found", "system volume information", "$recycle.bin"})
"""Folders that ext4 and Windows keep for themselves: not being let into them is no fault."""

HEAD_BYTES = 189
"""So many first bytes tell what a file is: two packets of MPEG-TS begin in them."""


def recordings(path: Path) -> Iterator[Path]:
    """The file itself, or the recordings below a folder. Sorted as paths are; one folder's names
    are held at a time. Raises at once as ports.video.Video.find."""
    try:
        there = path.exists()
    except OSError as error:
        raise NotFound(f"{path}: cannot be reached ({reason(error)}); check the path") from None
    if not there:
        raise NotFound(f"{path}: no such file or folder; check the path")
    if path.is_file():
        image = "" if path.suffix.lower() in SUFFIXES else drive_image(path)
        if image:
            raise RecordingError(
                f"{path}: an image of a drive ({image}); mount it read-only and name the folder, "
                "docs/proof.md says how"
            )
        return iter((path,))
    if not path.is_dir():
        raise NotFound(f"{path}: a pipe or device, not a file; copy the recording to a file")
    inside = _below_remote(path) if isinstance(path, RemotePath) else _below(path)
    first = next(inside, None)
    if first is None:
        raise RecordingError(
            f"{path}: no recordings in this folder; name the folder that holds the video files"
        )
    return chain((first,), inside)


def reason(error: OSError) -> str:
    """The system's own, on one line."""
    return " ".join((error.strerror or type(error).__name__).lower().split())


def unsearched(folder: Path) -> str:
    """Why a folder came as if it were a recording."""
    if isinstance(folder, RemotePath) and not folder.has_name():
        return "a folder without a name, which no address leads into; copy what it holds"
    return "a folder that may not be read; mend its permissions"


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


def _below_remote(folder: RemotePath) -> Iterator[Path]:
    for path, facts in folder.listed():
        if not facts.is_folder:
            if _is_video(path):
                yield path
        elif path.has_name():
            yield from _below_remote(path)
        else:
            # No address leads into a folder without a name.
            yield path


def _is_video(path: Path) -> bool:
    if not path.is_file():
        return False
    if path.suffix.lower() in SUFFIXES:
        return True
    try:
        head = _head(path)
    except (OSError, RecordingError):
        return False
    return (
        head[4:8] == b"ftyp"
        or head[:4] == b"\x1a\x45\xdf\xa3"
        or (head[:4] == b"RIFF" and head[8:12] == b"AVI ")
        or (len(head) == HEAD_BYTES and head[0] == head[188] == 0x47)
    )


def _head(path: Path) -> bytes:
    if isinstance(path, RemotePath):
        return path.head(HEAD_BYTES)
    with path.open("rb") as file:
        return file.read(HEAD_BYTES)
