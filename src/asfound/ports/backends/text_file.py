"""Text files that people write, read whole: every fault in one line with file and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from asfound.errors import AsfoundError, NotFound, StorageError


@dataclass(frozen=True, slots=True)
class TextKind:
    """``name`` of the format; larger than ``most_bytes`` is refused with the advice ``too_large``;
    ``wrong``: what is raised for a file of another kind."""

    name: str
    most_bytes: int
    too_large: str
    wrong: type[AsfoundError]


def read_text_file(path: Path, kind: TextKind) -> str:
    """UTF-8 text, with or without a byte order mark. Raises NotFound, StorageError, ``wrong``."""
    try:
        if path.is_dir():
            raise kind.wrong(f"{path}: this is a folder; name the {kind.name} file in it")
        if path.exists() and not path.is_file():
            # A pipe or a device may never end, or never begin.
            raise kind.wrong(f"{path}: a pipe or device, not a file; save it as a file first")
        with path.open("rb") as file:
            raw = file.read(kind.most_bytes + 1)
    except FileNotFoundError:
        raise NotFound(f"{path}: there is no such file; check the name and the folder") from None
    except NotADirectoryError:
        raise NotFound(f"{path}: a file stands where a folder should; check the path") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error).partition("\n")[0]
        raise StorageError(f"{path}: cannot be read ({reason}); check the file") from None
    if len(raw) > kind.most_bytes:
        most = kind.most_bytes // 1024**2
        raise kind.wrong(f"{path}: larger than {most} MiB; {kind.too_large}")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise kind.wrong(f"{path}:{line}: file: not UTF-8 text; save the file as UTF-8") from None
