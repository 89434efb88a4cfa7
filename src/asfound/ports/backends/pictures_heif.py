"""HEIC and HEIF photographs by pillow-heif, whose wheels carry libheif and an HEVC decoder."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pillow_heif
from PIL import Image

from asfound.ports.backends.pictures_exif import exif_from
from asfound.ports.backends.pictures_strips import Rows, array_rows

_HEVC = frozenset({b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"hevm", b"hevs"})
_ANY = frozenset({b"mif1", b"msf1"})
_AV1 = frozenset({b"avif", b"avis"})
"""Brands: ISO/IEC 23008-12 (HEIF); AV1 pictures have their own decoder in Pillow."""

FAULTS = (ValueError, EOFError, SyntaxError, RuntimeError, OSError, MemoryError)
"""What pillow-heif raises for files that it cannot decode."""


@dataclass(frozen=True, slots=True)
class HeifSource:
    """An open file: its first picture is decoded when its rows are asked for."""

    image: pillow_heif.HeifImage
    exif: Image.Exif
    pictures: int

    @property
    def size(self) -> tuple[int, int]:
        """(width, height), turned and mirrored as the file's irot and imir say."""
        width, height = self.image.size
        return int(width), int(height)

    def rows(self) -> Rows:
        """Decode. Raises one of FAULTS."""
        # A view of libheif's own memory, with its padding at the right: no copy is made.
        pixels = np.asarray(self.image)[:, : self.image.size[0]]
        if pixels.dtype != np.uint8:
            # Grey of more than 8 bits is given as 16: the upper byte is kept.
            pixels = (pixels >> 8).astype(np.uint8)
        return array_rows(pixels)


def is_heif(data: bytes) -> bool:
    """True for a HEIF file whose pictures are coded with HEVC or another codec, not AV1."""
    if data[4:8] != b"ftyp":
        return False
    end = min(int.from_bytes(data[:4], "big"), 256)
    brands = {data[8:12], *(data[at : at + 4] for at in range(16, end, 4))}
    return bool(brands & (_HEVC | _ANY)) and not brands & _AV1


def open_heif(data: bytes) -> HeifSource:
    """Read the boxes; nothing is decoded yet. Raises one of FAULTS."""
    file = pillow_heif.open_heif(data, convert_hdr_to_8bit=True)
    image = file[file.primary_index]
    return HeifSource(image, exif_from(image.info.get("exif")), len(file))
