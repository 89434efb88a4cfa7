"""The picture of one field, cut out of its stored photograph; secrets are painted over first."""

from __future__ import annotations

from asfound.calc.crop import shrink, straight_crop
from asfound.errors import IntegrityError, NotFound, PictureError
from asfound.jobs.hidden_pixels import is_placed, secret_places, without_secrets
from asfound.model.reading import Box, Reading
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import Pictures, Pixels

LONGEST_SIDE = 4096
"""Pixels; more of a photograph is not needed to see a value, and takes memory."""

NARROW = 0.35
"""Of the value's height: within a row's pitch in any menu."""


class FieldPictures:
    """Pictures of values. Neighbouring fields share a photograph: the last one stays open."""

    def __init__(self, reading: Reading, *, pictures: Pictures, blobs: Blobs) -> None:
        self._pictures, self._blobs = pictures, blobs
        self._spots = secret_places([reading])
        self._last: tuple[str, Pixels, tuple[float, float]] | None = None

    def crop(self, photo: str, box: Box, margin: float = NARROW) -> Pixels | None:
        """The value in ``box`` (pixels of ``photo``, SHA-256) upright, with ``margin`` x its
        height around it; None when the photograph is not there or cannot be opened.

        Where a secret stands nobody knows where, the margin stays small."""
        opened = self._opened(photo)
        if opened is None:
            return None
        pixels, (across, down) = opened
        a, b, c, d = ((x / across, y / down) for x, y in box)
        room = margin if self._placed(photo) else min(margin, NARROW)
        return straight_crop(pixels, (a, b, c, d), room)

    def whole(self, photo: str, longest: int = 1600) -> Pixels | None:
        """The photograph, shrunk; None as for ``crop``, and when a secret may stand on it
        nobody knows where."""
        opened = self._opened(photo) if self._placed(photo) else None
        return shrink(opened[0], longest) if opened is not None else None

    def size(self, photo: str) -> tuple[int, int] | None:
        """(width, height) of the photograph in full [px]; None as for ``whole``."""
        opened = self._opened(photo) if self._placed(photo) else None
        if opened is None:
            return None
        (high, wide), (across, down) = opened[0].shape[:2], opened[1]
        return round(wide * across), round(high * down)

    def _opened(self, photo: str) -> tuple[Pixels, tuple[float, float]] | None:
        if not photo:
            return None
        if self._last is None or self._last[0] != photo:
            try:
                data = self._blobs.get(photo)
                seen = self._pictures.decode(data, f"picture {photo[:12]}…", LONGEST_SIDE)
            except (NotFound, IntegrityError, PictureError):
                return None
            pixels = without_secrets(seen, self._spots.get(photo, ()))
            self._last = (photo, pixels, seen.factors)
        return self._last[1], self._last[2]

    def _placed(self, photo: str) -> bool:
        return is_placed(self._spots.get(photo, ()))
