"""The one way in which secrets are painted over in a picture: for the settling of doubts, for
reports, and for the copies that take the originals' place in the store."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from asfound.calc.secret_areas import painted
from asfound.model.reading import Box, Reading, SecretSpot
from asfound.ports.pictures import Picture, Pixels

Spots = Mapping[str, tuple[SecretSpot, ...]]
"""SHA-256 of a photograph -> where it may show passwords."""


def secret_places(readings: Iterable[Reading | None]) -> Spots:
    """Where the photographs of the readings may show passwords; those that show none are left
    out."""
    return {
        photo.sha256: photo.secrets
        for reading in readings
        if reading is not None
        for photo in reading.photos
        if photo.secrets
    }


def is_placed(spots: Sequence[SecretSpot]) -> bool:
    """True when every place is known that has to be painted over."""
    return all(spot.outline is not None for spot in spots)


def without_secrets(
    picture: Picture, spots: Sequence[SecretSpot], *, whole: bool = False
) -> Pixels:
    """The pixels with the ``spots`` (in pixels of the full photograph) painted over.

    A spot whose place could not be told takes the picture from edge to edge when ``whole``;
    else it is left, and the caller shows no more than what cannot hold it.
    """
    if not spots:
        return picture.pixels
    across, down = picture.factors
    high, wide = (float(side) for side in picture.pixels.shape[:2])
    edges: Box = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))
    outlines: list[Box] = []
    for spot in spots:
        if spot.outline is not None:
            a, b, c, d = ((x / across, y / down) for x, y in spot.outline)
            outlines.append((a, b, c, d))
        elif whole:
            outlines.append(edges)
    return painted(picture.pixels, outlines)
