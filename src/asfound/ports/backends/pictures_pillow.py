"""Still pictures by Pillow: decoded upright, small where the codec can, safe from hostile files."""

from __future__ import annotations

import io
import logging
import struct
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime

import cv2
from PIL import Image, UnidentifiedImageError

from asfound.errors import PictureError
from asfound.ports.backends import pictures_exif
from asfound.ports.backends.pictures_heif import is_heif, open_heif
from asfound.ports.backends.pictures_strips import MODES, Rows, pillow_rows, shrunk, webp_rows
from asfound.ports.backends.quiet import quiet_stderr
from asfound.ports.pictures import ClipFrame, Picture, Pixels

_FORMATS = ("JPEG", "PNG", "WEBP", "AVIF", "TIFF", "BMP")

NEAR = 0.95
"""A JPEG is decoded at half, a quarter or an eighth of its size when that leaves at least this
share of the longest side asked for: 8160 pixels become 4080 when 4096 would do."""

_MOST_WHOLE = 80_000_000
"""Pixels of what is decoded whole, all but JPEG: four bytes each in Pillow's memory."""

_MOST_WEBP = 25_000_000
"""Pixels of an animated or transparent WebP: its decoder takes sixteen bytes for each."""

_FAULTS = (
    OSError, SyntaxError, ValueError, TypeError, LookupError, ArithmeticError, MemoryError,
    AttributeError, RuntimeError, EOFError, AssertionError, SystemError, struct.error, zlib.error,
    cv2.error,
)  # fmt: skip
"""What Pillow and pillow-heif raise for damaged files: their parsers trust what they read."""


class PillowPictures:
    """Decoder and encoder; pictures above ``max_megapixels`` are refused before decoding."""

    def __init__(self, max_megapixels: float = 120.0) -> None:
        self._max_pixels = int(max_megapixels * 1e6)
        logger = logging.getLogger("PIL")
        if not logger.handlers:
            # Without any handler Pillow's errors would go to stderr, beside our one line.
            logger.addHandler(logging.NullHandler())

    def decode(self, data: bytes, name: str, longest: int | None = None) -> Picture:
        """Decode and turn upright. Raises PictureError, one line naming ``name``."""
        if not data:
            raise PictureError(f"{name}: the file is empty; copy it again")
        # libtiff writes what it finds to stderr; the other libraries keep quiet.
        tiff = data[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
        with _told(name), warnings.catch_warnings(), quiet_stderr(tiff):
            # Our own words are the ones to be heard: Pillow warns of what is only odd, too.
            warnings.simplefilter("ignore")
            if is_heif(data):
                return self._heif(data, name, longest)
            with Image.open(io.BytesIO(data), formats=_FORMATS) as image:
                return self._decoded(image, data, name, longest)

    def encode_jpeg(
        self, pixels: Pixels, quality: int = 85, frame: ClipFrame | None = None
    ) -> bytes:
        """Encode RGB pixels as JPEG; the same pixels give the same bytes."""
        buffer, image = io.BytesIO(), Image.fromarray(pixels)
        if frame is None:
            image.save(buffer, "JPEG", quality=quality)
        else:
            # To be read again: colour is kept at full size (4:4:4).
            exif = pictures_exif.of_frame(frame)
            image.save(buffer, "JPEG", quality=quality, subsampling=0, exif=exif)
        return buffer.getvalue()

    def encode_like(self, pixels: Pixels, original: bytes, name: str) -> bytes:
        """Encode upright RGB pixels as JPEG with times and camera of ``original``. Raises
        PictureError, one line naming ``name``."""
        height, width = pixels.shape[:2]
        with _told(name), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if is_heif(original):
                exif = open_heif(original).exif
            else:
                with Image.open(io.BytesIO(original), formats=_FORMATS) as image:
                    exif = pictures_exif.exif_of(image)
            buffer = io.BytesIO()
            made = pictures_exif.kept(exif, (width, height))
            Image.fromarray(pixels).save(buffer, "JPEG", quality=95, subsampling=0, exif=made)
        return buffer.getvalue()

    def _decoded(self, image: Image.Image, data: bytes, name: str, longest: int | None) -> Picture:
        several = bool(getattr(image, "is_animated", False))
        # Phones put further pictures (depth, light) into the second place of a JPEG (MPO).
        photograph = image.format in ("JPEG", "MPO")
        still = image.format == "WEBP" and image.mode == "RGB" and not several
        whole = _MOST_WEBP if image.format == "WEBP" and not still else _MOST_WHOLE
        self._check_size(image.size, name, self._max_pixels if photograph else whole)
        if image.mode not in MODES:
            raise PictureError(
                f"{name}: colours of kind {image.mode} are no photograph's; export it as RGB"
            )
        size, kind = image.size, image.format
        exif = pictures_exif.exif_of(image)
        taken = pictures_exif.taken(exif)
        # Pillow turns TIFF itself while loading.
        turn = 1 if kind == "TIFF" else pictures_exif.orientation(exif)
        if longest is not None:
            _reduce(image, longest)
        rows = webp_rows(data, size) if still else _loaded_rows(image)
        pixels = shrunk(rows, image.size, longest)
        frame = pictures_exif.frame(exif, taken)
        picture = _picture(pixels, turn, size, taken, several and not photograph)
        return replace(_timed(picture, exif), frame=frame)

    def _heif(self, data: bytes, name: str, longest: int | None) -> Picture:
        source = open_heif(data)
        self._check_size(source.size, name, _MOST_WHOLE)
        rows = source.rows()
        self._check_size(source.size, name, _MOST_WHOLE)
        # libheif has turned it by irot and imir; EXIF orientation repeats them (ISO/IEC 23008-12).
        pixels = shrunk(rows, source.size, longest)
        taken = pictures_exif.taken(source.exif)
        picture = _picture(pixels, 1, source.size, taken, source.pictures > 1)
        return _timed(picture, source.exif)

    def _check_size(self, size: tuple[int, int], name: str, most: int) -> None:
        width, height = size
        most = min(most, self._max_pixels)
        if width * height > most:
            raise PictureError(
                f"{name}: {width} x {height} is {width * height / 1e6:.0f} megapixels, more than "
                f"the {most / 1e6:.0f} allowed; make it smaller first"
            )


def _loaded_rows(image: Image.Image) -> Rows:
    image.load()
    return pillow_rows(image)


def _reduce(image: Image.Image, longest: int) -> None:
    """Have a JPEG decoded at a half, a quarter or an eighth by its DCT, where that will do."""
    width, height = image.size
    for part in (8, 4, 2):
        if max(width, height) / part >= NEAR * longest:
            # Only JpegImageFile does anything here; other formats ignore it.
            image.draft(None, (max(1, width // part), max(1, height // part)))
            return


def _picture(
    pixels: Pixels, turn: int, size: tuple[int, int], taken: datetime | None, several: bool
) -> Picture:
    original = size if turn < 5 else (size[1], size[0])
    note = "the file holds several pictures; only the first was read" if several else ""
    return Picture(pictures_exif.upright(pixels, turn), taken, original, note)


def _timed(picture: Picture, exif: Image.Exif) -> Picture:
    """The picture with how fine its capture time is."""
    step, exposure = pictures_exif.taken_step(exif), pictures_exif.exposure(exif)
    return replace(picture, taken_step_s=step, exposure_s=exposure)


@contextmanager
def _told(name: str) -> Iterator[None]:
    """Everything that decoders raise becomes a PictureError of one line."""
    try:
        yield
    except UnidentifiedImageError:
        raise PictureError(
            f"{name}: not a picture (JPEG, HEIC, PNG, WebP, AVIF, TIFF or BMP); leave it out or "
            "export it again"
        ) from None
    except Image.DecompressionBombError:
        raise PictureError(f"{name}: too many pixels; make it smaller first") from None
    except _FAULTS as error:
        reason = " ".join(str(error).split())[:80] or type(error).__name__
        raise PictureError(
            f"{name}: the picture is damaged or cut short ({reason}); copy it again"
        ) from None
