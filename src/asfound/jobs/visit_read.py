"""Visit verb: read photographs for a visit, as found or as left, and record the reading."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from asfound.calc.plain_text import plain
from asfound.errors import UsageError
from asfound.jobs.clip_stills import clip_of
from asfound.jobs.read_clock import NO_FACTS, ClockFacts
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.jobs.visit_journal import Desk, load_visit, named
from asfound.jobs.visit_record import (
    RecordReading,
    check_as_found,
    check_as_left,
    record_as_found,
    record_as_left,
)
from asfound.model.menu_map import MenuMap
from asfound.model.reading import PhotoReading, Reading
from asfound.model.visit import VisitState
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Pictures
from asfound.ports.progress import Progress, silent
from asfound.ports.video import Video


@dataclass(frozen=True, slots=True)
class VisitRead:
    """Read photographs for a visit, as found or as left. ``names``: what a person calls a file of
    ``photos`` whose own name says nothing."""

    visit: str
    menu_map: MenuMap
    photos: tuple[Path, ...]
    by: str
    as_left: bool = False
    clock: ClockFacts = NO_FACTS
    names: Mapping[Path, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ReadTools:
    """What reading photographs needs, and ``video`` for clips."""

    pictures: Pictures
    ocr: Ocr
    video: Video | None = None


def visit_read(
    request: VisitRead, *, desk: Desk, tools: ReadTools, progress: Progress = silent
) -> VisitState:
    """Read the photographs and record the reading.

    Raises GateShut before anything is read when the step is locked, UsageError, and what
    ``read_pages`` raises.
    """
    by = named(request.by)
    state = load_visit(request.visit, store=desk.store, blobs=desk.blobs)
    (check_as_left if request.as_left else check_as_found)(state)
    firmware = state.firmware_left if request.as_left else state.firmware_found
    reading = _read(request, firmware, desk, tools, progress)
    said = _shown_firmware(reading, request.menu_map)
    if said is not None and said != firmware:
        if request.as_left or not request.menu_map.has_firmware(said):
            raise UsageError(_other_firmware(state, request, said, firmware))
        # The recorder knows better than the fleet file: its pages have other rows then.
        reading = _read(request, said, desk, tools, progress)
    record = record_as_left if request.as_left else record_as_found
    return record(
        RecordReading(request.visit, request.menu_map, reading, by, request.clock), desk=desk
    )


def _read(
    request: VisitRead, firmware: str, desk: Desk, tools: ReadTools, progress: Progress
) -> Reading:
    reading = read_pages(
        ReadPages(request.menu_map, request.photos, firmware, request.clock),
        pictures=tools.pictures,
        ocr=tools.ocr,
        blobs=desk.blobs,
        clock=desk.clock,
        progress=progress,
        video=tools.video,
    )
    # A file's name can hold bytes that are no text; the journal keeps it as it can be shown.
    photos = tuple(_called(photo, request.names) for photo in reading.photos)
    return replace(reading, photos=photos)


def _called(photo: PhotoReading, names: Mapping[Path, str]) -> PhotoReading:
    file, note = photo.file, photo.note
    for path, name in names.items():
        if clip_of(file) == str(path):
            # A frame keeps its second behind the name; notes may begin with the file's name.
            file, note = name + file[len(str(path)) :], note.replace(path.name, name)
    return replace(photo, file=plain(file), note=plain(note))


def _shown_firmware(reading: Reading, menu_map: MenuMap) -> str | None:
    """The version that the recorder shows for sure; None when no photograph shows it so."""
    values = reading.sure_values()
    for item in menu_map.fields_in(reading.firmware):
        if item.means == "firmware" and item.id in values:
            return values[item.id]
    return None


def _other_firmware(state: VisitState, request: VisitRead, said: str, firmware: str) -> str:
    if request.as_left:
        return (
            f"visit {state.id}: the recorder shows firmware {said}, but {firmware} was recorded "
            "as installed; check the version page and the firmware step"
        )
    return (
        f"visit {state.id}: the recorder shows firmware {said}, which menu map "
        f"{request.menu_map.id} does not describe; describe it there first"
    )
