"""Clips: a part of a recording in a file of its own, the coded pictures as they are."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from asfound.ports.progress import Progress, silent


@dataclass(frozen=True, slots=True)
class Span:
    """Wanted seconds from the recording's first picture, ``start_s`` < ``end_s``."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Clip:
    """What was cut: ``held`` is what the clip really holds, counted as the wanted span is.

    ``video`` and ``audio`` are numbers of streams, ``packets`` the coded pieces of all of
    them, ``left_out`` says in words what the recording has and the clip has not. ``sha256``
    (hex) and ``size_bytes`` are the clip's. ``starts_late``: the recording has no key picture
    at or before the wanted start, the clip begins at its first one. ``assumed_fps``: it states
    no times, seconds are counted at this rate [1/s].
    """

    out: Path
    held: Span
    video: int
    audio: int
    packets: int
    size_bytes: int
    sha256: str
    left_out: tuple[str, ...] = ()
    starts_late: bool = False
    assumed_fps: float | None = None


class Cutter(Protocol):
    """Cuts clips without coding anything anew. Never writes to the recording."""

    def cut(self, path: Path, wanted: Span, out: Path, progress: Progress = silent) -> Clip:
        """A new file ``out`` of the same kind of container: every stream of pictures from its
        last key picture at or before the wanted start up to the wanted end, and the sound.
        ``out`` is there whole or not at all.

        Raises NotFound (no such file or folder), UsageError (``out`` is there already, has
        another suffix, or the span lies outside), RecordingError (cannot be opened or cut),
        IntegrityError (read back, the clip is not what the recording holds), StorageError.
        """
        ...
