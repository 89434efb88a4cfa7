"""Images of whole drives, told by their first bytes: they are mounted, not opened."""

from __future__ import annotations

from pathlib import Path

HEAD_BYTES = 2048

SIGNS = (
    # Microsoft's FAT, exFAT and NTFS boot sectors; ext4: the superblock at 1024, its s_magic at
    # 0x38 (kernel documentation, ext4 data structures); GPT: UEFI specification 5.3.2.
    (3, b"EXFAT   ", "exFAT"),
    (3, b"NTFS    ", "NTFS"),
    (82, b"FAT32   ", "FAT"),
    (54, b"FAT16   ", "FAT"),
    (54, b"FAT12   ", "FAT"),
    (1080, b"\x53\xef", "ext4"),
    (512, b"EFI PART", "partitions"),
)

TABLE, ENTRY, ENTRIES = 446, 16, 4
"""The partition table of a master boot record: 64 bytes before the mark 55 AA."""


def drive_image(path: Path) -> str:
    """What an image of a drive holds, e.g. "ext4"; "" where the file is none, or not to be read."""
    try:
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError:
        return ""
    for at, sign, name in SIGNS:
        if head[at : at + len(sign)] == sign:
            return name
    return "partitions" if _has_table(head) else ""


def _has_table(head: bytes) -> bool:
    if head[510:512] != b"\x55\xaa":
        return False
    entries = [head[TABLE + ENTRY * n : TABLE + ENTRY * (n + 1)] for n in range(ENTRIES)]
    # Active or not, its type, where it begins and how long it is, in sectors.
    used = [one for one in entries if one[4] and any(one[8:12]) and any(one[12:16])]
    return bool(used) and all(one[0] in (0, 0x80) for one in entries)
