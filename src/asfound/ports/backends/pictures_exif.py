"""What EXIF says about a photograph: how it was held, and when it was taken.

Tags: Exif 2.31 (CIPA DC-008). Whatever is wrong in them counts as missing.
"""

from __future__ import annotations

import re
import struct
from datetime import datetime, timedelta, timezone
from fractions import Fraction

import numpy as np
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from asfound.ports.pictures import ClipFrame, Pixels

DESCRIPTION = 0x010E
ORIENTATION = 0x0112
EXIF_IFD = 0x8769
TAKEN, OFFSET, SUBSECOND = 0x9003, 0x9011, 0x9291
"""DateTimeOriginal, OffsetTimeOriginal, SubSecTimeOriginal."""
SOFTWARE, WIDTH, HEIGHT = 0x0131, 0xA002, 0xA003
_KEPT = (0x010F, 0x0110, 0x0132)
"""Make, Model, DateTime."""
_KEPT_INSIDE = (0x9003, 0x9004, 0x9010, 0x9011, 0x9012, 0x9290, 0x9291, 0x9292)
"""DateTimeOriginal and -Digitized, the offsets and the fractions of all three times."""
EXPOSURE = 0x829A
"""ExposureTime, seconds."""

_FRAME = re.compile(
    r"asfound: frame of clip ([0-9a-f]{64}) at (\d+\.\d{3}) s, time within (\d+\.\d) s"
)

_UNUSABLE = (ValueError, OSError, SyntaxError, LookupError, TypeError, AttributeError,
             ArithmeticError, struct.error)  # fmt: skip
"""What Pillow may raise over tags that are garbage."""


def exif_of(image: Image.Image) -> Image.Exif:
    """The picture's EXIF, empty when it is garbage."""
    try:
        return image.getexif()
    except _UNUSABLE:
        return Image.Exif()


def exif_from(data: object) -> Image.Exif:
    """EXIF from its bytes, empty when there is none or it is garbage."""
    exif = Image.Exif()
    try:
        if isinstance(data, bytes):
            exif.load(data)
    except _UNUSABLE:
        return Image.Exif()
    return exif


def orientation(exif: Image.Exif) -> int:
    """1 to 8; 1 when it is missing or no such number."""
    try:
        value = exif.get(ORIENTATION, 1)
    except _UNUSABLE:
        return 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def upright(pixels: Pixels, value: int) -> Pixels:
    """Turned and mirrored as orientation ``value`` says; a copy only when it changes."""
    match value:
        case 2:
            turned = pixels[:, ::-1]
        case 3:
            turned = pixels[::-1, ::-1]
        case 4:
            turned = pixels[::-1]
        case 5:
            turned = pixels.transpose(1, 0, 2)
        case 6:
            turned = np.rot90(pixels, 3)
        case 7:
            turned = np.rot90(pixels.transpose(1, 0, 2), 2)
        case 8:
            turned = np.rot90(pixels)
        case _:
            turned = pixels
    return np.ascontiguousarray(turned)


def taken(exif: Image.Exif) -> datetime | None:
    """Capture time, aware only when the offset tag is there; None when unusable."""
    try:
        tags = exif.get_ifd(EXIF_IFD)
        stamp = str(tags.get(TAKEN, "")).strip("\x00 ")
        moment = datetime.strptime(stamp, "%Y:%m:%d %H:%M:%S")
        moment = moment.replace(microsecond=_microseconds(tags.get(SUBSECOND)))
        offset = str(tags.get(OFFSET, "")).strip("\x00 ")
    except _UNUSABLE:
        return None
    try:
        sign = {"+": 1, "-": -1}[offset[:1]]
        hours, minutes = offset[1:].split(":")
        shift = sign * timedelta(hours=int(hours), minutes=int(minutes))
        return moment.replace(tzinfo=timezone(shift))
    except (KeyError, ValueError):
        return moment


def taken_step(exif: Image.Exif) -> float:
    """How coarse the capture time is, in seconds: 1, or 0.1, 0.01, ... with its fraction."""
    try:
        digits = str(exif.get_ifd(EXIF_IFD).get(SUBSECOND) or "").strip("\x00 ")
    except _UNUSABLE:
        return 1.0
    return 10.0 ** -min(len(digits), 6) if digits.isascii() and digits.isdigit() else 1.0


def exposure(exif: Image.Exif) -> float:
    """How long the shutter was open, in seconds; 0 when the file does not say."""
    try:
        seconds = float(exif.get_ifd(EXIF_IFD).get(EXPOSURE, 0.0))
    except _UNUSABLE:
        return 0.0
    # A minute is longer than a phone held by hand ever exposes; NaN compares false.
    return seconds if 0.0 < seconds <= 60.0 else 0.0


def of_frame(frame: ClipFrame) -> Image.Exif:
    """EXIF that says where a frame comes from, and when it was taken if that is known."""
    exif = Image.Exif()
    exif[DESCRIPTION] = (
        f"asfound: frame of clip {frame.clip} at {frame.second:.3f} s, "
        f"time within {frame.within_s:.1f} s"
    )
    if frame.taken is not None:
        tags = exif.get_ifd(EXIF_IFD)
        tags[TAKEN] = frame.taken.strftime("%Y:%m:%d %H:%M:%S")
        tags[SUBSECOND] = f"{frame.taken.microsecond // 1000:03}"
        if offset := frame.taken.strftime("%z"):
            tags[OFFSET] = f"{offset[:3]}:{offset[3:5]}"
    return exif


def kept(exif: Image.Exif, size: tuple[int, int]) -> Image.Exif:
    """EXIF for a copy of ``size`` (width, height) that stands upright: when and with what it was
    taken. Previews, positions and makers' notes, which may hold the picture again, are left out.
    """
    made = Image.Exif()
    made[ORIENTATION] = 1
    made[SOFTWARE] = "asfound"
    inner = made.get_ifd(EXIF_IFD)
    inner[WIDTH], inner[HEIGHT] = size
    try:
        tags = exif.get_ifd(EXIF_IFD)
        for tag in _KEPT:
            if words := _plain(exif.get(tag)):
                made[tag] = words
        if _FRAME.fullmatch(words := _plain(exif.get(DESCRIPTION))):
            made[DESCRIPTION] = words
        for tag in _KEPT_INSIDE:
            if words := _plain(tags.get(tag)):
                inner[tag] = words
    except _UNUSABLE:
        return made
    if seconds := exposure(exif):
        inner[EXPOSURE] = IFDRational(Fraction(seconds).limit_denominator(1_000_000))
    return made


def _plain(value: object) -> str:
    """A text tag's words; "" when it is none, or holds what is no text."""
    words = value.strip("\x00 ") if isinstance(value, str) else ""
    return words if words.isascii() and words.isprintable() else ""


def frame(exif: Image.Exif, moment: datetime | None) -> ClipFrame | None:
    """What ``of_frame`` wrote; None for a photograph."""
    try:
        found = _FRAME.fullmatch(str(exif.get(DESCRIPTION, "")).strip("\x00 "))
    except _UNUSABLE:
        return None
    if found is None:
        return None
    return ClipFrame(found[1], float(found[2]), moment, float(found[3]))


def _microseconds(fraction: object) -> int:
    """SubSecTimeOriginal: the digits after the point of the second; 0 when it is none."""
    digits = str(fraction or "").strip("\x00 ")
    return int(digits[:6].ljust(6, "0")) if digits.isascii() and digits.isdigit() else 0
