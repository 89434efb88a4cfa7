"""The file that the phone writes: JPEG with EXIF orientation and capture time."""

from __future__ import annotations

import io
from datetime import datetime

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.ExifTags import IFD, Base


def encode(
    pixels: NDArray[np.uint8], quality: int, orientation: int | None, taken: datetime | None
) -> bytes:
    """JPEG bytes (4:2:0) of RGB ``pixels``. ``taken`` aware: with the offset tag (EXIF 2.31);
    naive: without; None: no time. A fraction of its second is written when it has one.
    ``orientation`` None: no such tag."""
    exif = Image.Exif()
    if orientation is not None:
        exif[Base.Orientation] = orientation
    if taken is not None:
        text = taken.strftime("%Y:%m:%d %H:%M:%S")
        exif[Base.DateTime] = text
        detail = exif.get_ifd(IFD.Exif)
        detail[Base.DateTimeOriginal] = text
        if taken.microsecond:
            detail[Base.SubsecTimeOriginal] = f"{taken.microsecond // 1000:03}"
        if taken.tzinfo is not None:
            offset = taken.strftime("%z")
            detail[Base.OffsetTimeOriginal] = f"{offset[:3]}:{offset[3:5]}"
    buffer = io.BytesIO()
    Image.fromarray(pixels).save(buffer, "JPEG", quality=quality, subsampling=2, exif=exif)
    return buffer.getvalue()
