"""Containers: which files there are and what they say of themselves, nothing decoded."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from asfound.ports.video import FileFacts, Finder


class Containers(Finder, Protocol):
    """The part of ``ports.video.Video`` that opens files and reads their headers only."""

    def facts(self, path: Path) -> FileFacts:
        """Container facts; a file without bytes has no streams. Raises NotFound, and
        RecordingError when the file cannot be opened as video."""
        ...
