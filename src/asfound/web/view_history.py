"""The history of a vehicle's settings as pages and programs show it, some visits at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from asfound.errors import AsfoundError, NotFound
from asfound.jobs.settings_history import Moment, VisitChanges, settings_history
from asfound.jobs.visit_journal import load_visit
from asfound.model.fleet import Vehicle
from asfound.model.menu_map import MenuMap
from asfound.model.values import shown
from asfound.model.visit_line import LineQuery
from asfound.web.services import Services

SHOWN = 20
"""Visits on a page; each is folded from its journal."""


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """A change in the words of the recorder's screen."""

    page: str
    label: str
    before: str
    after: str
    moment: Moment


@dataclass(frozen=True, slots=True)
class VisitRows:
    """A closed visit and its changes."""

    visit: VisitChanges
    rows: tuple[ChangeRow, ...]


@dataclass(frozen=True, slots=True)
class HistoryView:
    """Closed visits, newest first. ``open``: how many visits are still open, and not in it;
    ``number`` is the page, from 1, ``more``: there are older ones."""

    vehicle: Vehicle
    visits: tuple[VisitRows, ...]
    open: int
    number: int
    more: bool


def history_view(part: str, number: int, services: Services) -> HistoryView:
    """The vehicle's history. Raises NotFound, IntegrityError, StorageError."""
    vehicle = services.shelf.fleet().vehicle(part)
    desk = services.desk
    mine = (vehicle.number,)
    asked = LineQuery(mine, True, SHOWN + 1, (number - 1) * SHOWN)
    lines = desk.store.lines(asked)
    states = [load_visit(line.id, store=desk.store, blobs=desk.blobs) for line in lines]
    # The oldest that is loaded may only be what the others are held against.
    states.sort(key=lambda state: state.closed_at or state.opened_at)
    menu_map = _map(vehicle, services)
    made = settings_history(states, _no_settings(menu_map))
    newest = made[::-1][:SHOWN]
    still = desk.store.lines(LineQuery(mine, False))
    rows = tuple(VisitRows(item, _rows(item, menu_map)) for item in newest)
    return HistoryView(vehicle, rows, len(still), number, len(lines) > SHOWN)


def _map(vehicle: Vehicle, services: Services) -> MenuMap | None:
    try:
        return services.shelf.menu_map(vehicle.recorder.map_id)
    except AsfoundError:
        return None


def _no_settings(menu_map: MenuMap | None) -> frozenset[str]:
    if menu_map is None:
        return frozenset()
    fields = (field for page in menu_map.pages for field in page.fields)
    return frozenset(field.id for field in fields if not field.settable)


def _rows(item: VisitChanges, menu_map: MenuMap | None) -> tuple[ChangeRow, ...]:
    return tuple(
        ChangeRow(
            _page(change.field, menu_map),
            change.label,
            *_values(change.field, (change.before, change.after), menu_map),
            change.moment,
        )
        for change in item.changes
    )


def _page(field: str, menu_map: MenuMap | None) -> str:
    try:
        page = menu_map.page_of(field) if menu_map is not None else None
    except NotFound:
        # The map was changed since: the value is still what was read.
        page = None
    if page is None:
        return ""
    return f"{page.group}: {page.title}" if page.group else page.title


def _values(field: str, values: Sequence[str], menu_map: MenuMap | None) -> tuple[str, str]:
    try:
        kind = menu_map.field(field).type if menu_map is not None else None
    except NotFound:
        kind = None
    before, after = (shown(kind, value) if kind is not None else value for value in values)
    return before, after
