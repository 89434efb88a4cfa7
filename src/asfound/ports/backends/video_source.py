"""What a decoder opens: a file of this machine by its name, any other by range."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from asfound.ports.backends.remote_path import RemotePath
from asfound.ports.backends.remote_store import RangeReader

Source = Callable[[], str | RangeReader]
"""A name or an open file for ``av.open``, a new one each time."""

BUFFER_BYTES = 1 << 18
"""What is handed to FFmpeg at once of a file that is read by range."""

NEAR_BYTES_S, FAR_BYTES_S = 2e6, 100e3
"""Bytes a second that can be counted on: off a worn drive over USB 2; from storage, over a poor
link that other processes use as well (common practice, no source)."""


def read_rate(path: Path) -> float:
    """Bytes a second that can be counted on when ``path`` is read."""
    return FAR_BYTES_S if isinstance(path, RemotePath) else NEAR_BYTES_S


@contextmanager
def source(path: Path) -> Iterator[Source]:
    """Where ``path`` is opened. Storage that did not give all of it is an error afterwards,
    whatever the decoder made of the part: NotFound, RecordingError, StorageError."""
    if not isinstance(path, RemotePath):
        # "file:" keeps a colon in a name from being taken for another protocol.
        yield lambda: f"file:{path}"
        return
    readers: list[RangeReader] = []

    def opened() -> RangeReader:
        readers.append(path.reader())
        return readers[-1]

    try:
        yield opened
    except Exception:
        _check(readers)
        raise
    _check(readers)


def _check(readers: list[RangeReader]) -> None:
    for reader in readers:
        reader.check()
