"""A reader of video files that counts which ones are opened."""

from __future__ import annotations

from pathlib import Path

from asfound.ports.backends.video_av import AvVideo
from asfound.ports.video import FileFacts


class Counting(AvVideo):
    """Counts which files are opened, in this process."""

    def __init__(self) -> None:
        self.opened: list[str] = []

    def facts(self, path: Path) -> FileFacts:
        """As the reader's own."""
        self.opened.append(path.name)
        return super().facts(path)
