"""Verbs: keep, replace, show and take away the photograph of where a vehicle's recorder sits."""

from __future__ import annotations

from dataclasses import dataclass

from asfound.errors import NotFound, UsageError
from asfound.jobs.visit_journal import Desk, named
from asfound.model.fleet import Vehicle
from asfound.model.place_picture import PlacePicture
from asfound.ports.pictures import Pictures
from asfound.ports.store import Store

MOST_BYTES = 100_000_000
"""The largest photograph taken, as in a visit."""

SHOWN_PX = 1600
SMALL_PX = 480
QUALITY = 82


@dataclass(frozen=True, slots=True)
class TakePlacePicture:
    """A photograph as it came: ``name`` is its file's, for messages only."""

    vehicle: Vehicle
    data: bytes
    name: str
    by: str


def take_place_picture(
    request: TakePlacePicture, *, desk: Desk, pictures: Pictures
) -> PlacePicture:
    """Keep the photograph, in front of an earlier one. It is stored before it is named.

    Raises UsageError (no name, too large), PictureError (no picture), StorageError.
    """
    by = named(request.by)
    if not 0 < len(request.data) <= MOST_BYTES:
        limit = MOST_BYTES
        size = len(request.data)
        raise UsageError(f"{size} bytes: 1 to {limit // 1_000_000} MB are taken; leave it out")
    pictures.decode(request.data, request.name, SHOWN_PX)
    picture = desk.blobs.put(request.data)
    made = PlacePicture(request.vehicle.number, picture, by, desk.clock.now())
    desk.store.save_place_picture(made)
    return made


def drop_place_picture(vehicle: Vehicle, by: str, *, desk: Desk) -> PlacePicture:
    """Take the photograph away. Raises NotFound (there is none), UsageError, StorageError."""
    signed = named(by)
    if place_picture(vehicle, store=desk.store) is None:
        raise NotFound(f"vehicle {vehicle.number}: there is no photograph of its recorder's place")
    made = PlacePicture(vehicle.number, "", signed, desk.clock.now())
    desk.store.save_place_picture(made)
    return made


def place_picture(vehicle: Vehicle, *, store: Store) -> PlacePicture | None:
    """The photograph that counts; None when there is none. Raises StorageError, IntegrityError."""
    known = store.place_pictures(vehicle.number)
    return known[0] if known and known[0].picture else None


def place_jpeg(
    vehicle: Vehicle, name: str, *, desk: Desk, pictures: Pictures, small: bool = False
) -> bytes:
    """The photograph ``name`` (SHA-256) as a JPEG: upright, shrunk, without what the phone wrote
    into it, such as where it was. Raises NotFound for any but the one that counts."""
    known = place_picture(vehicle, store=desk.store)
    if known is None or known.picture != name:
        raise NotFound("this photograph is not the present one any more; load the page again")
    picture = pictures.decode(desk.blobs.get(name), name, SMALL_PX if small else SHOWN_PX)
    return pictures.encode_jpeg(picture.pixels, QUALITY)
