"""Where a file lies on its drive, by the FIEMAP request of Linux (linux/fiemap.h, linux/fs.h)."""

from __future__ import annotations

import fcntl
import struct

from asfound.calc.drive_places import Extent

FIEMAP = 0xC020660B
"""FS_IOC_FIEMAP."""
HEAD = struct.Struct("=QQLLLL")
"""Start, length, flags, extents that were mapped, room for extents, nothing."""
ROW = struct.Struct("=QQQQQLLLL")
"""Offset in the file, place on the drive, length, nothing, nothing, flags, nothing."""
SYNC, LAST = 0x1, 0x1
UNSURE = 0x2 | 0x4 | 0x8 | 0x100 | 0x200 | 0x400
"""Unknown, not placed yet, encoded, not aligned, inline, packed with others."""
ROWS = 256


def file_extents(handle: int) -> list[Extent]:
    """Extents of an open file, in order; none where the file system does not tell for sure."""
    found: list[Extent] = []
    start = 0
    while True:
        request = bytearray(HEAD.pack(start, 2**64 - 1 - start, SYNC, 0, ROWS, 0))
        request += bytes(ROW.size * ROWS)
        try:
            fcntl.ioctl(handle, FIEMAP, request)
        except OSError:
            return []
        count = HEAD.unpack_from(request)[3]
        if not count:
            return found
        for number in range(count):
            row = ROW.unpack_from(request, HEAD.size + number * ROW.size)
            if row[5] & UNSURE:
                return []
            found.append(Extent(row[0], row[1], row[2]))
            start = row[0] + row[2]
            if row[5] & LAST:
                return found
