"""The picture of one field, cut out of its stored photograph; secrets are painted over first."""

from __future__ import annotations

from asfound.calc.crop import shrink, straight_crop
from asfound.calc.secret_areas import painted, secret_spots
from asfound.errors import IntegrityError, NotFound, PictureError
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.reading import Box, Reading
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import Picture, Pictures, Pixels

LONGEST_SIDE = 4096
"""Pixels; more of a photograph is not needed to see a value, and takes memory."""

NARROW = 0.35
"""Of the value's height: within a row's pitch in any menu."""


class FieldPictures:
    """Pictures of values. Neighbouring fields share a photograph: the last one stays open."""

    def __init__(
        self, reading: Reading, menu_map: MenuMap, *, pictures: Pictures, blobs: Blobs
    ) -> None:
        self._pictures, self._blobs = pictures, blobs
        self._photos = {photo.sha256: photo for photo in reading.photos}
        self._secret = {f.id for f in menu_map.fields if isinstance(f.type, Secret)}
        self._unplaced = {
            photo.sha256
            for photo in reading.photos
            if any(field.id in self._secret and field.box is None for field in photo.fields)
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
            pixels = self._without_secrets(photo, seen)
            self._last = (photo, pixels, seen.factors)
        return self._last[1], self._last[2]

    def _without_secrets(self, photo: str, seen: Picture) -> Pixels:
        """The pixels with every place painted over where a secret may stand."""
        known = self._photos.get(photo)
        high, wide = seen.pixels.shape[:2]
        fields = known.fields if known is not None else ()
        spots = secret_spots(fields, self._secret, seen.original or (wide, high))
        across, down = seen.factors
        outlines: list[Box] = []
        for spot in spots:
            if spot.outline is not None:
                a, b, c, d = ((x / across, y / down) for x, y in spot.outline)
                outlines.append((a, b, c, d))
        return painted(seen.pixels, outlines)
