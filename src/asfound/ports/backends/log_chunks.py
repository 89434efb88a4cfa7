"""The bytes of a log on disk, in pieces, plain or gzip: from the beginning each time."""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from asfound.calc.plain_text import plain
from asfound.errors import InputError, NotFound, StorageError

CHUNK = 1 << 20
GZIP = b"\x1f\x8b"


def log_chunks(path: Path) -> Callable[[], Iterable[bytes]]:
    """Pieces of ``path``. Raises NotFound, InputError (folder, pipe) at once; StorageError and
    InputError (damaged gzip) while it is read."""
    try:
        if path.is_dir():
            raise InputError(f"{path}: this is a folder; name the log in it")
        if path.exists() and not path.is_file():
            raise InputError(f"{path}: a pipe or device, not a file; save it as a file first")
        with path.open("rb") as file:
            packed = file.read(2) == GZIP
    except FileNotFoundError:
        raise NotFound(f"{path}: there is no such file; check the name and the folder") from None
    except NotADirectoryError:
        raise NotFound(f"{path}: a file stands where a folder should; check the path") from None
    except (OSError, ValueError) as error:
        raise _unread(path, error) from None
    return lambda: _pieces(path, packed)


def _pieces(path: Path, packed: bool) -> Iterator[bytes]:
    try:
        with gzip.open(path, "rb") if packed else path.open("rb") as file:
            while piece := file.read(CHUNK):
                yield piece
    except (gzip.BadGzipFile, EOFError, zlib.error):
        raise InputError(
            f"{plain(str(path))}: damaged gzip; unpack it with gzip -dc and give what comes out"
        ) from None
    except OSError as error:
        raise _unread(path, error) from None


def _unread(path: Path, error: Exception) -> StorageError:
    reason = getattr(error, "strerror", None) or str(error).partition("\n")[0]
    return StorageError(f"{path}: cannot be read ({reason}); check the file")
