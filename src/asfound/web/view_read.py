"""The photographs of a visit as pages show them: what came, what each shows, what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import Literal

from asfound.errors import AsfoundError, NotFound
from asfound.jobs.retakes import retakes
from asfound.jobs.take_upload import offset_of
from asfound.jobs.visit_journal import load_visit
from asfound.jobs.visit_record import check_as_found, check_as_left
from asfound.model.menu_map import MenuMap
from asfound.model.reading import PhotoReading, Reading, State
from asfound.model.retake import Retake
from asfound.model.upload import Upload
from asfound.model.visit import VisitState
from asfound.web.services import Services

RowState = Literal["arriving", "waiting", "failed", "read", "no-page", "damaged"]


@dataclass(frozen=True, slots=True)
class PhotoRow:
    """One photograph or clip, or one of a clip's frames. ``photo`` is its SHA-256 once it was
    read, "" before. ``page`` is the title of the page that it shows. ``hints``: what to do better.
    """

    name: str
    state: RowState
    photo: str = ""
    percent: int = 0
    page: str = ""
    sure: int = 0
    doubt: int = 0
    note: str = ""
    hints: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PageRow:
    """A page of the menu: how many of its values are known, and how many only a person can
    settle; ``photo`` shows it, "" while none does."""

    id: str
    title: str
    number: int
    photo: str
    known: int
    unsure: int


@dataclass(frozen=True, slots=True)
class ReadView:
    """Photographs of one moment of a visit. ``refusal`` says why none can be taken up now, "" when
    they can; ``rounds`` counts as-left rounds; ``missing`` are pages without a photograph."""

    state: VisitState
    as_left: bool
    refusal: str
    reading: Reading | None
    photos: tuple[PhotoRow, ...]
    pages: tuple[PageRow, ...]
    again: tuple[Retake, ...]
    rounds: int
    unsure: int

    @property
    def missing(self) -> tuple[PageRow, ...]:
        """Pages that no photograph shows."""
        return tuple(page for page in self.pages if not page.photo)


def read_view(visit: str, as_left: bool | None, services: Services) -> ReadView:
    """The photographs as they stand; ``as_left`` None: of the moment that the visit is at.

    Raises NotFound, IntegrityError, MapError, StorageError.
    """
    state = load_visit(visit, store=services.desk.store, blobs=services.desk.blobs)
    menu_map = services.shelf.menu_map(state.vehicle.recorder.map_id)
    left = is_left(state) if as_left is None else as_left
    reading, settled = state.as_found, frozenset(item.id for item in state.settled)
    if left:
        last = state.rounds[-1] if state.rounds else None
        reading = last.reading if last else None
        settled = frozenset(item.id for item in last.settled) if last else frozenset()
    uploads = [
        item
        for item in services.uploads.of(visit)
        if item.as_left == left and item.kind != "recording"
    ]
    return ReadView(
        state,
        left,
        refusal(state, left),
        reading,
        _photos(reading, uploads, menu_map),
        page_rows(state, reading, settled, menu_map, left),
        retakes(reading, menu_map, settled) if reading is not None else (),
        len(state.rounds),
        _unsure(reading, settled, menu_map),
    )


def is_left(state: VisitState) -> bool:
    """True when the visit has come to the settings as left."""
    return bool(state.rounds) or (bool(refusal(state, False)) and not refusal(state, True))


def refusal(state: VisitState, as_left: bool) -> str:
    """Why no photographs can be taken up for that moment now, in one line; "" when they can."""
    if state.closed:
        return f"visit {state.id} is closed and takes no more photographs"
    try:
        (check_as_left if as_left else check_as_found)(state)
    except AsfoundError as error:
        return str(error)
    return ""


def page_rows(
    state: VisitState,
    reading: Reading | None,
    settled: frozenset[str],
    menu_map: MenuMap,
    as_left: bool,
) -> tuple[PageRow, ...]:
    """Every page of the firmware, in menu order."""
    firmware = state.firmware_left if as_left else state.firmware_found
    if reading is not None:
        firmware = reading.firmware
    fields = {field.id: field for field in reading.fields} if reading is not None else {}
    photos = {one.page: one.sha256 for one in reading.photos} if reading is not None else {}
    made: list[PageRow] = []
    for page in menu_map.pages:
        rows = menu_map.page_fields(page, firmware)
        if not rows:
            continue
        known = sum(
            row.id in settled or (row.id in fields and fields[row.id].state is State.SURE)
            for row in rows
        )
        photo = photos.get(page.id, "")
        unsure = len(rows) - known if photo else 0
        made.append(
            PageRow(page.id, title_of(page.id, menu_map), len(made) + 1, photo, known, unsure)
        )
    return tuple(made)


def title_of(page_id: str, menu_map: MenuMap) -> str:
    """A page's title with its group; its id when the map does not know it any more."""
    try:
        page = menu_map.page(page_id)
    except NotFound:
        return page_id
    return f"{page.group}: {page.title}" if page.group else page.title


def photo_of(view_reading: Reading | None, name: str) -> PhotoReading:
    """The photograph with this SHA-256. Raises NotFound."""
    photos = view_reading.photos if view_reading is not None else ()
    found = next((one for one in photos if one.sha256 == name and name), None)
    if found is None:
        raise NotFound("no photograph of this visit has that name; load the list again")
    return found


def _photos(
    reading: Reading | None, uploads: Sequence[Upload], menu_map: MenuMap
) -> tuple[PhotoRow, ...]:
    """The newest first: what is on its way, then what was read."""
    read = [_read_row(one, menu_map) for one in (reading.photos if reading is not None else ())]
    coming = [_coming_row(item) for item in uploads if item.state != "read"]
    return tuple(reversed([*read, *coming]))


def _coming_row(item: Upload) -> PhotoRow:
    states: dict[str, RowState] = {"arriving": "arriving", "failed": "failed"}
    percent = 100 * offset_of(item) // item.size
    return PhotoRow(item.name, states.get(item.state, "waiting"), "", percent, note=item.note)


def _read_row(one: PhotoReading, menu_map: MenuMap) -> PhotoRow:
    state: RowState = "damaged" if one.damaged else "read" if one.page is not None else "no-page"
    sure = sum(field.state is State.SURE for field in one.fields)
    return PhotoRow(
        PurePath(one.file).name,
        state,
        one.sha256,
        100,
        title_of(one.page, menu_map) if one.page is not None else "",
        sure,
        len(one.fields) - sure,
        one.note,
        tuple(dict.fromkeys(fault.hint for fault in one.faults)),
    )


def _unsure(reading: Reading | None, settled: frozenset[str], menu_map: MenuMap) -> int:
    """Values that only a person can settle, those of missing pages left out."""
    if reading is None:
        return 0
    away = set(reading.missing_pages)
    return sum(
        field.id not in settled and menu_map.page_of(field.id).id not in away
        for field in reading.doubts()
    )
