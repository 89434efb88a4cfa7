"""Earlier good pictures, one a channel, that the aim of cameras is held against."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.errors import NotFound, UsageError
from asfound.jobs.prove_names import Pattern, read_name
from asfound.jobs.prove_pictures import Reference
from asfound.ports.pictures import Pictures


@dataclass(frozen=True, slots=True)
class References:
    """(channel, picture) pairs, and the pattern that recordings are named by, if any."""

    pictures: tuple[tuple[int, Reference], ...]
    pattern: Pattern | None = None

    def fingerprint(self) -> str:
        """SHA-256 of all pictures with their channels and names, in one."""
        whole = hashlib.sha256()
        for channel, picture in self.pictures:
            whole.update(f"{channel} {picture.name!r} {picture.luma.shape}\n".encode())
            whole.update(picture.luma.tobytes())
        return whole.hexdigest()

    def channel_named(self, path: Path, name: Path) -> int | None:
        """The channel that a file's name speaks of; ``name`` counts from the folder given."""
        return (self.pattern.read(path) if self.pattern else read_name(name)).channel

    def of_file(self, path: Path, name: Path, stream: int, streams: int) -> Reference | None:
        """The earlier picture for a stream of a file; None when there is none for its channel.

        ``name`` counts from the folder given. A file of several streams carries the channels in
        order.
        """
        channel = stream + 1 if streams > 1 else self.channel_named(path, name)
        return dict(self.pictures).get(channel) if channel is not None else None


PICTURES = frozenset({".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif", ".tif", ".tiff", ".bmp"})


def pictures_in(folder: Path) -> tuple[Path, ...]:
    """The pictures of a folder, by name. Raises NotFound, UsageError (none in it)."""
    if not folder.is_dir():
        raise NotFound(f"{folder}: no such folder; name the one with ch1.jpg, ch2.jpg, ...")
    found = tuple(sorted(one for one in folder.iterdir() if one.suffix.lower() in PICTURES))
    if not found:
        raise UsageError(f"{folder}: no picture in this folder; put ch1.jpg, ch2.jpg, ... there")
    return found


def load_references(
    files: Sequence[Path], pictures: Pictures, pattern: Pattern | None = None
) -> References:
    """Decode pictures; which channel each shows is told by its name (ch1.jpg, cam02.png).

    Raises UsageError (a name without a channel, a channel twice),
    PictureError, one line naming the file.
    """
    found: dict[int, Reference] = {}
    for file in files:
        channel = read_name(Path(file.name)).channel
        if channel is None:
            raise UsageError(f"{file}: its name says no channel; call it ch1.jpg, ch2.jpg, ...")
        if channel in found:
            raise UsageError(f"{file}: channel {channel} has another picture; keep one of them")
        pixels = pictures.decode(file.read_bytes(), str(file)).pixels
        found[channel] = Reference(_luma(pixels), file.name)
    return References(tuple(sorted(found.items(), key=lambda pair: pair[0])), pattern)


def _luma(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Only directions of edges are taken from it: the weights of the colours matter little."""
    return np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), np.uint8)
