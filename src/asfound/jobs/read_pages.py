"""Read phone photographs of a recorder's menu into one reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from asfound.calc.merge_photos import merge_photos
from asfound.errors import PictureError, UsageError
from asfound.jobs.read_photo import read_photo
from asfound.model.menu_map import MenuMap
from asfound.model.reading import FieldReading, PhotoReading, Reading, State
from asfound.ports.blobs import Blobs
from asfound.ports.clock import Clock
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Pictures
from asfound.ports.progress import Progress, silent

NOT_READ = "not a picture"
"""How the note of a file begins that could not be opened as a picture."""


@dataclass(frozen=True, slots=True)
class ReadPages:
    """Photographs of one recorder's menu; ``firmware`` None: taken from its version field."""

    menu_map: MenuMap
    photos: tuple[Path, ...]
    firmware: str | None = None


def read_pages(
    request: ReadPages,
    *,
    pictures: Pictures,
    ocr: Ocr,
    blobs: Blobs,
    clock: Clock,
    progress: Progress = silent,
) -> Reading:
    """Store each photograph by its content hash, then read it, then add all up.

    A file that is not a picture stops nothing: its note begins with NOT_READ. The same content
    given twice counts once. Raises UsageError without photographs, NotFound for a missing file
    or firmware that the map does not know, StorageError, and Interrupted through ``progress``.
    """
    if not request.photos:
        raise UsageError("no photographs given; name picture files or a folder of them")
    if request.firmware is not None:
        request.menu_map.fields_in(request.firmware)
    stored = _stored(request.photos, blobs)
    photos = []
    for number, (name, path) in enumerate(stored.items(), start=1):
        start = clock.steady()
        read = _read_one(request, path, name, (pictures, ocr, blobs))
        photos.append(replace(read, seconds=round(clock.steady() - start, 3)))
        progress(number, len(stored), path.name)
    firmware = request.firmware or _firmware_seen(request.menu_map, photos)
    return merge_photos(request.menu_map, firmware, photos)


def _stored(photos: Sequence[Path], blobs: Blobs) -> dict[str, Path]:
    """Content hash -> first file with that content; everything is safe before any is read."""
    stored: dict[str, Path] = {}
    for path in photos:
        stored.setdefault(blobs.put_file(path), path)
    return stored


def _read_one(
    request: ReadPages, path: Path, name: str, tools: tuple[Pictures, Ocr, Blobs]
) -> PhotoReading:
    pictures, ocr, blobs = tools
    try:
        picture = pictures.decode(blobs.get(name), path.name)
    except PictureError as error:
        return PhotoReading(str(path), name, None, 0.0, (), f"{NOT_READ}: {error}")
    pick, fields = read_photo(picture.pixels, request.menu_map, request.firmware, ocr)
    page = pick.match.page.id if pick.match is not None else None
    named = tuple(replace(field, photo=name) for field in fields)
    return PhotoReading(str(path), name, page, 0.0, named, pick.note)


def _firmware_seen(menu_map: MenuMap, photos: Sequence[PhotoReading]) -> str:
    """The version that a photograph shows for sure, else the map's newest."""
    ids = {field.id for field in menu_map.fields if field.means == "firmware"}
    shown = {
        field.value for photo in photos for field in photo.fields if _is_sure_version(field, ids)
    }
    known = [version for version in shown if version and menu_map.has_firmware(version)]
    return known[0] if len(known) == 1 else menu_map.firmware[-1]


def _is_sure_version(field: FieldReading, ids: set[str]) -> bool:
    return field.id in ids and field.state is State.SURE
