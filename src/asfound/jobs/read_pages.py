"""Read phone photographs of a recorder's menu into one reading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from asfound.calc.merge_photos import merge_photos
from asfound.calc.new_options import with_new_options
from asfound.calc.page_numbers import is_numbered, numbered
from asfound.calc.retake import photo_faults
from asfound.calc.retake_unknown import unknown_page_fault
from asfound.calc.secret_areas import secret_spots
from asfound.errors import NotFound, PictureError, UsageError
from asfound.jobs.clip_stills import (
    ClipTools,
    PickFrames,
    is_clip,
    pick_frames,
    without_blank_frames,
)
from asfound.jobs.letters import by_known_letters
from asfound.jobs.page_sight import Asked
from asfound.jobs.read_clock import NO_FACTS, ClockFacts, check_facts, timed, with_clock
from asfound.jobs.read_photo import NOTHING, PhotoRead, read_photo
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.reading import Box, FieldReading, PhotoReading, Reading, SecretSpot, State
from asfound.model.retake import Fault
from asfound.ports.blobs import Blobs
from asfound.ports.clock import Clock
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Picture, Pictures, Pixels
from asfound.ports.progress import Progress, silent
from asfound.ports.video import Video

LARGEST_FILE = 256 * 1024 * 1024
"""Bytes; what is larger is no photograph (120 megapixels of JPEG are about 60 MB)."""

BY_NUMBER = "its title is hidden; told by its page number"

LONGEST_SIDE = 4096
"""Pixels; larger photographs are scaled down: more does not help, and takes memory."""


@dataclass(frozen=True, slots=True)
class ReadPages:
    """Photographs of one recorder's menu; ``firmware`` None: taken from its version field."""

    menu_map: MenuMap
    photos: tuple[Path, ...]
    firmware: str | None = None
    clock: ClockFacts = NO_FACTS


@dataclass(frozen=True, slots=True)
class _Tools:
    pictures: Pictures
    ocr: Ocr
    blobs: Blobs
    clock: Clock
    video: Video | None
    facts: ClockFacts


def read_pages(
    request: ReadPages,
    *,
    pictures: Pictures,
    ocr: Ocr,
    blobs: Blobs,
    clock: Clock,
    progress: Progress = silent,
    video: Video | None = None,
) -> Reading:
    """Store each photograph by its content hash, then read it, then add all up.

    With ``video`` clips are read as well: their sharp frames count as photographs of their own.

    A file that is not a picture stops nothing: it is noted and marked as damaged. The same
    content given twice counts once. Raises UsageError without photographs, NotFound for a
    missing file or firmware that the map does not know, StorageError, and Interrupted through
    ``progress``.
    """
    menu_map, tools = request.menu_map, _Tools(pictures, ocr, blobs, clock, video, request.clock)
    if not request.photos:
        raise UsageError("no photographs given; name picture files or a folder of them")
    if request.firmware is not None:
        menu_map.fields_in(request.firmware)
    check_facts(request.clock)
    unread = _stored(request.photos, tools, progress)
    bare = {photo.sha256: photo for photo in unread}
    asked = Asked(menu_map, request.firmware)
    photos, reads = [], dict[str, PhotoRead]()
    for photo in unread:
        read, reads[photo.sha256] = _read_one(photo, asked, tools)
        photos.append(read)
        progress(len(photos), len(unread), Path(photo.file).name)
    stored = [photo.sha256 for photo in photos]
    photos = without_blank_frames(photos)
    kept = {photo.sha256 for photo in photos}
    firmware, note = request.firmware, ""
    if firmware is None:
        firmware, note = _told_firmware(menu_map, photos)
        for number, photo in enumerate(photos):
            if _shows_other_rows(photo, firmware, menu_map):
                again = replace(bare[photo.sha256], seconds=photo.seconds)
                now = Asked(menu_map, firmware)
                photos[number], reads[photo.sha256] = _read_one(again, now, tools)
    for photo, page in _numbered_pages(photos, reads, Asked(menu_map, firmware)):
        number = photos.index(photo)
        noted = "; ".join(filter(None, (bare[photo.sha256].note, BY_NUMBER)))
        again = replace(bare[photo.sha256], seconds=photo.seconds, note=noted)
        now = Asked(menu_map, firmware, page)
        photos[number], reads[photo.sha256] = _read_one(again, now, tools)
    photos = by_known_letters(photos, {name: read.writing for name, read in reads.items()})
    spare = tuple(name for name in stored if name and name not in kept)
    reading = replace(merge_photos(menu_map, firmware, photos), note=note, spare=spare)
    return with_clock(menu_map, reading, request.clock)


def _numbered_pages(
    photos: Sequence[PhotoReading], reads: Mapping[str, PhotoRead], asked: Asked
) -> list[tuple[PhotoReading, str]]:
    """Photographs whose title is hidden, and their pages (ids), where page numbers tell them."""
    menu_map, firmware = asked.menu_map, asked.firmware
    told = [(one.page, reads[one.sha256].numbers) for one in photos if one.page is not None]
    if not is_numbered(menu_map, firmware, told):
        return []
    found = []
    for photo in photos:
        read = reads.get(photo.sha256, NOTHING)
        if photo.page is None and read.pick.rivals:
            page = numbered(menu_map, firmware, read.pick.rivals, read.numbers)
            if page is not None:
                found.append((photo, page))
    return found


def _stored(paths: Sequence[Path], tools: _Tools, progress: Progress) -> list[PhotoReading]:
    """One unread photograph per content; everything is safe before any is read."""
    for path in paths:
        if not (path.exists() or path.is_symlink()):
            raise NotFound(f"{path}: no such file; check the path")
    photos: dict[str, PhotoReading] = {}
    for path in paths:
        if fault := _fault(path):
            note = f"{path.name}: {fault}"
            photos[str(path)] = PhotoReading(str(path), "", None, 0.0, (), note, damaged=True)
            continue
        if tools.video is not None and is_clip(path):
            with_clips = ClipTools(tools.video, tools.pictures, tools.blobs)
            frames = pick_frames(
                PickFrames(path, LONGEST_SIDE), tools=with_clips, progress=progress
            )
            photos.update({frame.sha256 or frame.file: frame for frame in frames})
            continue
        name = tools.blobs.put_file(path)
        if (known := photos.get(name)) is None:
            photos[name] = PhotoReading(str(path), name, None, 0.0, ())
        elif known.file != str(path):
            also = f"{path.name} is the same photograph, counted once"
            photos[name] = replace(known, note="; ".join(filter(None, (known.note, also))))
    return list(photos.values())


def _fault(path: Path) -> str:
    """Why this can be no photograph, in words that follow its name; "" when it may be one."""
    if path.is_dir():
        return "a folder, not a picture; name it by itself to have its pictures read"
    if not path.exists():
        return "a link to a file that is gone; leave it out or bring the file back"
    if not path.is_file():
        return "a pipe or device, not a picture; leave it out"
    try:
        with path.open("rb") as file:
            file.read(1)
        size = path.stat().st_size
    except OSError as error:
        return f"cannot be read ({error.strerror or 'damaged'}); copy it again"
    if size > LARGEST_FILE and not is_clip(path):
        return f"{size / 1e6:.0f} MB is no photograph; leave it out"
    return ""


def _read_one(photo: PhotoReading, asked: Asked, tools: _Tools) -> tuple[PhotoReading, PhotoRead]:
    read = NOTHING
    if photo.damaged:
        return photo, read
    started = tools.clock.steady()
    try:
        photo, read = _filled(photo, asked, tools)
    except PictureError as error:
        # What could not be opened may show any page: the part that is there as well.
        anywhere = _secrets(asked.menu_map, None, (), None)
        photo = replace(photo, note=str(error), damaged=True, secrets=anywhere)
    seconds = round(photo.seconds + tools.clock.steady() - started, 3)
    return replace(photo, seconds=seconds), read


def _filled(photo: PhotoReading, asked: Asked, tools: _Tools) -> tuple[PhotoReading, PhotoRead]:
    """The photograph with its page and fields, and what they were made of. Raises PictureError."""
    menu_map = asked.menu_map
    data = tools.blobs.get(photo.sha256)
    picture = tools.pictures.decode(data, Path(photo.file).name, LONGEST_SIDE)
    read = read_photo(picture.pixels, asked, tools.ocr)
    pick, fields = read.pick, read.fields
    page = pick.match.page.id if pick.match is not None else None
    placed = tuple(
        replace(
            with_new_options(menu_map.field(field.id), field),
            box=_scaled(field.box, picture.factors),
            photo=photo.sha256,
        )
        for field in fields
    )
    note = "; ".join(filter(None, (pick.note, photo.note, picture.note)))
    photo = timed(photo, picture, tools.facts)
    photo = replace(photo, secrets=_secrets(menu_map, page, placed, picture))
    photo = replace(photo, faults=_faults(picture.pixels, page, fields))
    return replace(photo, page=page, fields=placed, note=note), read


def _faults(pixels: Pixels, page: str | None, fields: Sequence[FieldReading]) -> tuple[Fault, ...]:
    """What spoils the photograph for the values that are not sure."""
    if page is not None:
        return photo_faults(pixels, fields)
    fault = unknown_page_fault(pixels)
    return () if fault is None else (fault,)


def _secrets(
    menu_map: MenuMap, page: str | None, fields: Sequence[FieldReading], picture: Picture | None
) -> tuple[SecretSpot, ...]:
    """Where passwords may be seen; anywhere, when the photograph shows no page of the map or
    could not be opened (None)."""
    secrets = {field.id for field in menu_map.fields if isinstance(field.type, Secret)}
    if page is None or picture is None:
        return (SecretSpot("", None),) if secrets else ()
    height, width = picture.pixels.shape[:2]
    return secret_spots(fields, secrets, picture.original or (width, height))


def _scaled(box: Box | None, factors: tuple[float, float]) -> Box | None:
    if box is None or factors == (1.0, 1.0):
        return box
    across, down = factors
    a, b, c, d = ((x * across, y * down) for x, y in box)
    return (a, b, c, d)


def _told_firmware(menu_map: MenuMap, photos: Sequence[PhotoReading]) -> tuple[str, str]:
    """The firmware that sure version fields name, else the newest; and a note on it."""
    version_ids = {field.id for field in menu_map.fields if field.means == "firmware"}
    seen = {
        field.value
        for photo in photos
        for field in photo.fields
        if field.id in version_ids and field.state is State.SURE and field.value is not None
    }
    newest = menu_map.firmware[-1]
    if len(seen) == 1 and menu_map.has_firmware(version := min(seen)):
        return version, f"firmware {version}, read from the photographs"
    if len(seen) > 1:
        why = f"the photographs name several firmware versions ({', '.join(sorted(seen))})"
    elif seen:
        why = f"the map does not describe firmware {min(seen)}"
    else:
        why = "no photograph names the firmware for sure"
    return newest, f"{why}: taken for the newest, {newest}; name it with --firmware"


def _shows_other_rows(photo: PhotoReading, firmware: str, menu_map: MenuMap) -> bool:
    """True when the photograph's page has other rows in ``firmware`` than it was read with."""
    if photo.page is None:
        return False
    wanted = menu_map.page_fields(menu_map.page(photo.page), firmware)
    return [field.id for field in photo.fields] != [field.id for field in wanted]
