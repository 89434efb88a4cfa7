"""Cut a clip out of a recording as it is, for whoever asked for that footage."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from pathlib import Path

from asfound.errors import UsageError
from asfound.ports.clips import Clip, Cutter, Span
from asfound.ports.progress import Progress, silent


@dataclass(frozen=True, slots=True)
class CutClip:
    """``file`` from ``start_s`` to ``end_s`` (seconds from its first picture), as ``out``."""

    file: Path
    start_s: float
    end_s: float
    out: Path


def cut_clip(request: CutClip, *, cutter: Cutter, progress: Progress = silent) -> Clip:
    """The clip, read back and compared. The recording is only read; nothing is replaced.

    Raises UsageError, NotFound, RecordingError, IntegrityError, StorageError, Interrupted.
    """
    start, end = request.start_s, request.end_s
    if not (isfinite(start) and isfinite(end)) or start < 0:
        raise UsageError("--from and --to count seconds from the first picture, from 0 on")
    if end <= start:
        raise UsageError(f"--to {end:g} is not after --from {start:g}; swap or mend them")
    return cutter.cut(request.file, Span(start, end), request.out, progress)
