"""Progress of long work, and the way to interrupt it."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Called after each finished piece; may raise Interrupted to stop the work cleanly."""

    def __call__(self, done: int, total: int, what: str) -> None: ...


def silent(done: int, total: int, what: str) -> None:
    """Progress that nobody watches."""
