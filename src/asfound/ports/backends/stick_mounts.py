"""What is mounted where, by Linux's own table, and which disks the computer runs from.

proc(5), /proc/self/mounts: device, place, kind, options, parted by blanks; blanks, tabs, line
breaks and backslashes in them as octal. sysfs: /sys/dev/block/MAJOR:MINOR leads to the device; a
partition's folder holds ``partition`` and lies in its disk's.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

TABLE = Path("/proc/self/mounts")
BLOCKS = Path("/sys/dev/block")
SYSTEM = tuple(map(Path, ("/", "/boot", "/boot/efi", "/efi", "/usr", "/var", "/home")))
"""Places of the computer's own file systems (Filesystem Hierarchy Standard 3.0; from memory)."""


@dataclass(frozen=True, slots=True)
class Mount:
    """One line of the table."""

    device: str
    place: Path
    kind: str
    read_only: bool


def mounts(table: Path = TABLE) -> tuple[Mount, ...]:
    """All that is mounted, in the order of mounting; a later one hides an earlier one. Raises
    OSError."""
    found = []
    for line in table.read_text(encoding="utf-8", errors="surrogateescape").splitlines():
        parts = [_plain(part) for part in line.split(" ")]
        if len(parts) >= 4:
            options = parts[3].split(",")
            found.append(Mount(parts[0], Path(parts[1]), parts[2], "ro" in options))
    return tuple(found)


def _plain(text: str) -> str:
    return re.sub(r"\\([0-7]{3})", lambda found: chr(int(found[1], 8)), text)


def mounted_at(path: Path, known: Sequence[Mount]) -> Mount | None:
    """What is mounted at ``path`` itself; None: it is only a folder of something."""
    return next((one for one in reversed(known) if one.place == path), None)


def is_system(path: Path, blocks: Path = BLOCKS, system: Sequence[Path] = SYSTEM) -> bool:
    """Whether the computer runs from the disk at ``path``. Raises OSError when it has gone."""
    device = path.stat().st_dev
    for one in system:
        with suppress(OSError):
            other = one.stat().st_dev
            if path.resolve() == one or device == other:
                return True
            disk = _disk(device, blocks)
            if disk is not None and disk == _disk(other, blocks):
                return True
    return False


def _disk(device: int, blocks: Path) -> Path | None:
    """The whole disk of a partition; None where the system tells of no such device."""
    place = blocks / f"{os.major(device)}:{os.minor(device)}"
    if not place.exists():
        return None
    place = place.resolve()
    return place.parent if (place / "partition").exists() else place
