"""Pictures of a visit as pages show them: never a password, always by the content's own name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from asfound.errors import NotFound
from asfound.jobs.field_picture import FieldPictures
from asfound.jobs.visit_journal import load_visit
from asfound.model.kinds import FieldType, Secret
from asfound.model.menu_map import MenuMap
from asfound.model.reading import PhotoReading, Reading
from asfound.model.values import shown
from asfound.model.visit import VisitState
from asfound.web.services import Services
from asfound.web.view_read import title_of

LONGEST_PX = 1600
QUALITY = 82


@dataclass(frozen=True, slots=True)
class ValueRow:
    """One value as a photograph shows it. ``outline`` are its corners "x,y x,y …" in pixels of the
    photograph, ``at`` where its number is written; "" and None without a place."""

    number: int
    label: str
    value: str
    state: str
    reason: str
    outline: str
    at: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class PhotoView:
    """One photograph with its values. ``size`` is its (width, height) [px]; None when it must not
    be shown, or cannot."""

    state: VisitState
    photo: PhotoReading
    page: str
    rows: tuple[ValueRow, ...]
    size: tuple[int, int] | None


def photo_view(visit: str, name: str, services: Services) -> PhotoView:
    """A photograph of the visit by its SHA-256. Raises NotFound, IntegrityError, MapError."""
    state, reading, photo = _found(visit, name, services)
    menu_map = services.shelf.menu_map(state.vehicle.recorder.map_id)
    rows = tuple(_rows(photo, menu_map))
    page = title_of(photo.page, menu_map) if photo.page is not None else ""
    return PhotoView(state, photo, page, rows, _size(reading, photo, services))


def photo_jpeg(visit: str, name: str, services: Services) -> bytes:
    """The photograph, shrunk, with what may be a password painted over. Raises NotFound."""
    _, reading, photo = _found(visit, name, services)
    pictures = services.tools.pictures()
    views = FieldPictures(reading, pictures=pictures, blobs=services.desk.blobs)
    pixels = views.whole(photo.sha256, LONGEST_PX)
    if pixels is None:
        raise NotFound("this picture may show a password, or is not here; it is not shown")
    return pictures.encode_jpeg(pixels, QUALITY)


def crop_jpeg(visit: str, name: str, field_id: str, services: Services) -> bytes:
    """One value cut out of a photograph. Raises NotFound, for a secret as well."""
    state, reading, photo = _found(visit, name, services)
    menu_map = services.shelf.menu_map(state.vehicle.recorder.map_id)
    seen = next((field for field in photo.fields if field.id == field_id), None)
    if seen is None or seen.box is None or isinstance(menu_map.field(field_id).type, Secret):
        raise NotFound("there is no picture of this value")
    pictures = services.tools.pictures()
    views = FieldPictures(reading, pictures=pictures, blobs=services.desk.blobs)
    pixels = views.crop(photo.sha256, seen.box, 0.8)
    if pixels is None:
        raise NotFound("the photograph is not here any more")
    return pictures.encode_jpeg(pixels, QUALITY)


def _found(visit: str, name: str, services: Services) -> tuple[VisitState, Reading, PhotoReading]:
    state = load_visit(visit, store=services.desk.store, blobs=services.desk.blobs)
    for reading in _readings(state):
        for photo in reading.photos:
            if name and photo.sha256 == name:
                return state, reading, photo
    raise NotFound("no photograph of this visit has that name; load the list again")


def _readings(state: VisitState) -> Iterator[Reading]:
    """The newest first."""
    yield from (item.reading for item in reversed(state.rounds))
    if state.as_found is not None:
        yield state.as_found


def _size(reading: Reading, photo: PhotoReading, services: Services) -> tuple[int, int] | None:
    pictures = services.tools.pictures()
    views = FieldPictures(reading, pictures=pictures, blobs=services.desk.blobs)
    return views.size(photo.sha256)


def _rows(photo: PhotoReading, menu_map: MenuMap) -> Iterator[ValueRow]:
    for number, field in enumerate(photo.fields, 1):
        try:
            kind: FieldType | None = menu_map.field(field.id).type
        except NotFound:
            kind = None
        value = field.value or ""
        if kind is not None and field.value is not None and not isinstance(kind, Secret):
            value = shown(kind, field.value)
        outline, at = "", None
        if field.box is not None:
            outline = " ".join(f"{x:.0f},{y:.0f}" for x, y in field.box)
            at = (round(field.box[0][0]), round(field.box[0][1]))
        yield ValueRow(number, field.label, value, field.state.value, field.reason, outline, at)
