"""Recordings put into another container, their coded pictures and sound as they are."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Remuxed:
    """With what it was made, and in words what the recording has and the new file has not."""

    tool: str
    left_out: tuple[str, ...] = ()


class Remuxer(Protocol):
    """Makes files that common players play. Nothing is coded anew."""

    def remux(self, path: Path, out: Path) -> Remuxed:
        """``out``, a new MP4 file with the streams of ``path``, which is only read; read back, all
        its packets hold what those of ``path`` do.

        Raises RecordingError (it cannot be done, or is not needed), IntegrityError (read back, it
        is not the same), StorageError; then ``out`` is of no use and may be there.
        """
        ...
