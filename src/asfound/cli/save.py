"""Files that a command writes beside its answer: checked before the work, whole or not at all."""

from __future__ import annotations

from pathlib import Path

from asfound.cli.report import check_replaced, write_whole
from asfound.errors import NotFound, UsageError
from asfound.ports.backends.disk import storage_error


def check_output(path: Path | None, begins: bytes, what: str) -> None:
    """Raises NotFound without its folder, and UsageError when another kind of file is there."""
    if path is None:
        return
    if not path.parent.is_dir():
        raise NotFound(f"{path.parent}: there is no such folder; make it first")
    if path.is_dir():
        raise UsageError(f"{path}: is a folder; name a file in it")
    check_replaced(path, begins, what)


def save(path: Path, text: str) -> None:
    """Write UTF-8 text as it is; an older file is replaced. Raises StorageError."""
    try:
        write_whole(path, text.encode("utf-8"))
    except OSError as error:
        raise storage_error(error, path) from None
