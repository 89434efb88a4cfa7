"""Pictures: decode photographs safely, encode evidence."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]
"""Height x width x 3, RGB, 8 bit."""


@dataclass(frozen=True, slots=True)
class ClipFrame:
    """That a picture is no photograph of its own but a frame of a clip.

    ``clip`` is the clip's SHA-256, hex; ``second`` counts from its first picture. ``taken``
    (aware) is the time in its container, which the phone may have written at the start or at
    the end of filming, plus ``second``: it may be off by ``within_s`` seconds either way.
    """

    clip: str
    second: float
    taken: datetime | None = None
    within_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Picture:
    """A decoded photograph, already turned upright by its EXIF orientation.

    ``taken`` is the EXIF capture time with its fraction of a second where the file has one,
    aware only when the file has an offset tag. ``original`` is the (width, height) of the
    upright photograph in full; None when ``pixels`` are all of it. ``note`` says in one line
    what is odd about the file. ``frame``: asfound cut it out of a clip; ``taken`` is then the
    clip's and known only to within ``frame.within_s``. ``taken_step_s`` is how coarse ``taken``
    is: 1 s, or less with a fraction of the second. ``exposure_s``: 0 when it is not known.
    """

    pixels: Pixels
    taken: datetime | None = None
    original: tuple[int, int] | None = None
    note: str = ""
    frame: ClipFrame | None = None
    taken_step_s: float = 1.0
    exposure_s: float = 0.0

    @property
    def factors(self) -> tuple[float, float]:
        """What coordinates (x, y) in ``pixels`` are multiplied by to get the original's."""
        high, wide = self.pixels.shape[:2]
        width, height = self.original or (wide, high)
        return width / wide, height / high


class Pictures(Protocol):
    """Decoder and encoder of still pictures."""

    def decode(self, data: bytes, name: str, longest: int | None = None) -> Picture:
        """Decode JPEG, HEIC, PNG, WebP, ..., the longer side at most ``longest`` pixels (None:
        in full). Raises PictureError (not a picture, damaged, or more pixels than allowed);
        ``name`` is used in the message only."""
        ...

    def encode_jpeg(
        self, pixels: Pixels, quality: int = 85, frame: ClipFrame | None = None
    ) -> bytes:
        """Encode RGB pixels as JPEG; ``frame`` is written into it and decoded again."""
        ...


class Repainter(Pictures, Protocol):
    """Pictures that can also be stored anew with something painted over."""

    def encode_like(self, pixels: Pixels, original: bytes, name: str) -> bytes:
        """Encode the upright RGB ``pixels`` in full quality with what ``original`` says about
        when and with what it was taken; nothing else of it is carried over (no preview, no
        position). The same arguments give the same bytes. Raises PictureError, naming ``name``."""
        ...
