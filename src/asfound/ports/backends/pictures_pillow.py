"""Still pictures by Pillow: decoded upright, with limits against hostile files."""

from __future__ import annotations

import io
import warnings
from datetime import datetime, timedelta, timezone

import numpy as np
from PIL import Image, ImageOps, UnidentifiedImageError

from asfound.errors import PictureError
from asfound.ports.pictures import Picture, Pixels

_EXIF_IFD = 0x8769
_TAKEN, _OFFSET, _SUBSECOND = 0x9003, 0x9011, 0x9291
"""DateTimeOriginal, OffsetTimeOriginal, SubSecTimeOriginal, Exif 2.31 (CIPA DC-008)."""

_FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "BMP")


class PillowPictures:
    """Decoder and encoder; pictures above ``max_megapixels`` are refused before decoding."""

    def __init__(self, max_megapixels: float = 120.0) -> None:
        self._max_pixels = int(max_megapixels * 1e6)

    def decode(self, data: bytes, name: str) -> Picture:
        """Decode and turn upright. Raises PictureError, one line naming ``name``."""
        try:
            with warnings.catch_warnings():
                # Our own limit speaks first; Pillow's warning would be a second voice.
                warnings.simplefilter("ignore", Image.DecompressionBombWarning)
                with Image.open(io.BytesIO(data), formats=_FORMATS) as image:
                    self._check_size(image.size, name)
                    taken = _taken(image)
                    upright = ImageOps.exif_transpose(image).convert("RGB")
                    return Picture(np.asarray(upright, dtype=np.uint8).copy(), taken)
        except UnidentifiedImageError:
            raise PictureError(
                f"{name}: not a picture (JPEG, PNG or WebP); leave it out or export it again"
            ) from None
        except Image.DecompressionBombError:
            raise PictureError(f"{name}: too many pixels; make it smaller first") from None
        except (OSError, SyntaxError, ValueError, TypeError, KeyError, MemoryError) as error:
            reason = " ".join(str(error).split())[:80] or type(error).__name__
            raise PictureError(
                f"{name}: the picture is damaged or cut short ({reason}); copy it again"
            ) from None

    def encode_jpeg(self, pixels: Pixels, quality: int = 85) -> bytes:
        """Encode RGB pixels as JPEG; the same pixels give the same bytes."""
        buffer = io.BytesIO()
        Image.fromarray(pixels).save(buffer, "JPEG", quality=quality)
        return buffer.getvalue()

    def _check_size(self, size: tuple[int, int], name: str) -> None:
        width, height = size
        if width * height > self._max_pixels:
            raise PictureError(
                f"{name}: {width} x {height} is {width * height / 1e6:.0f} megapixels, more than "
                f"the {self._max_pixels / 1e6:.0f} allowed; make it smaller first"
            )


def _taken(image: Image.Image) -> datetime | None:
    """Capture time from EXIF, aware only when the offset tag is there; None when unusable."""
    try:
        tags = image.getexif().get_ifd(_EXIF_IFD)
        stamp = str(tags.get(_TAKEN, "")).strip("\x00 ")
        moment = datetime.strptime(stamp, "%Y:%m:%d %H:%M:%S")
    except (ValueError, OSError, SyntaxError, KeyError, TypeError):
        return None
    moment = moment.replace(microsecond=_microseconds(tags.get(_SUBSECOND)))
    offset = str(tags.get(_OFFSET, "")).strip("\x00 ")
    try:
        sign = {"+": 1, "-": -1}[offset[:1]]
        hours, minutes = offset[1:].split(":")
        shift = sign * timedelta(hours=int(hours), minutes=int(minutes))
        return moment.replace(tzinfo=timezone(shift))
    except (KeyError, ValueError):
        return moment


def _microseconds(fraction: object) -> int:
    """SubSecTimeOriginal: the digits after the point of the second; 0 when it is none."""
    digits = str(fraction or "").strip("\x00 ")
    return int(digits[:6].ljust(6, "0")) if digits.isascii() and digits.isdigit() else 0
