"""Keep libraries written in C from talking on stderr, where one line a file is promised."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

_STDERR = 2


@contextmanager
def quiet_stderr(wanted: bool = True) -> Iterator[None]:
    """While inside, file descriptor 2 leads to nowhere (when ``wanted``).

    The descriptor is the process's: other threads' words are lost for that moment, too.
    """
    kept = _kept() if wanted else None
    if kept is None:
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, _STDERR)
        yield
    finally:
        os.dup2(kept, _STDERR)
        os.close(kept)
        os.close(nowhere)


def _kept() -> int | None:
    """A copy of descriptor 2; None when the process was started without one."""
    try:
        return os.dup(_STDERR)
    except OSError:
        return None
