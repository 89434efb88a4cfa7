"""The picture of one field, cut out of its stored photograph; secrets are painted over first."""

from __future__ import annotations

from collections.abc import Mapping

import cv2
import numpy as np

from asfound.calc.crop import shrink, straight_crop
from asfound.errors import IntegrityError, NotFound, PictureError
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.reading import Box, Reading
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import Pictures, Pixels

LONGEST_SIDE = 4096
"""Pixels; more of a photograph is not needed to see a value, and takes memory."""

NARROW = 0.35
"""Of the value's height: within a row's pitch in any menu."""

GREY = (90, 90, 90)
SPREAD = 0.5
"""By how much of its height a secret's outline is widened before it is painted over."""


class FieldPictures:
    """Pictures of values. Neighbouring fields share a photograph: the last one stays open."""

    def __init__(
        self, reading: Reading, menu_map: MenuMap, *, pictures: Pictures, blobs: Blobs
    ) -> None:
        self._pictures, self._blobs = pictures, blobs
        self._secrets: Mapping[str, tuple[Box, ...]] = {
            photo.sha256: tuple(
                field.box
                for field in photo.fields
                if field.box is not None and isinstance(menu_map.field(field.id).type, Secret)
            )
            for photo in reading.photos
        }
        self._unplaced = {
            photo.sha256
            for photo in reading.photos
            for field in photo.fields
            if field.box is None and isinstance(menu_map.field(field.id).type, Secret)
        }
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
        room = min(margin, NARROW) if photo in self._unplaced else margin
        return straight_crop(pixels, (a, b, c, d), room)

    def whole(self, photo: str, longest: int = 1600) -> Pixels | None:
        """The photograph, shrunk; None as for ``crop``, and when a secret may stand on it
        nobody knows where."""
        opened = None if photo in self._unplaced else self._opened(photo)
        return shrink(opened[0], longest) if opened is not None else None

    def _opened(self, photo: str) -> tuple[Pixels, tuple[float, float]] | None:
        if not photo:
            return None
        if self._last is None or self._last[0] != photo:
            try:
                data = self._blobs.get(photo)
                seen = self._pictures.decode(data, f"picture {photo[:12]}…", LONGEST_SIDE)
            except (NotFound, IntegrityError, PictureError):
                return None
            pixels = seen.pixels.copy()
            for box in self._secrets.get(photo, ()):
                _paint_over(pixels, box, seen.factors)
            self._last = (photo, pixels, seen.factors)
        return self._last[1], self._last[2]


def _paint_over(pixels: Pixels, box: Box, factors: tuple[float, float]) -> None:
    corners = np.array(box, dtype=np.float64) / np.array(factors)
    middle = corners.mean(axis=0)
    height = float(np.linalg.norm(corners[3] - corners[0]))
    away = corners - middle
    length = np.maximum(np.linalg.norm(away, axis=1, keepdims=True), 1e-6)
    grown = middle + away * (1 + 1.5 * SPREAD * height / length)
    cv2.fillPoly(pixels, [np.round(grown).astype(np.int32)], GREY)
