"""The re-key sheet as pages and programs show it: rows, keys, ticks, and how far it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from asfound.jobs.key_ticks import SheetProgress, sheet_progress, ticked
from asfound.jobs.report_settings import page_title
from asfound.jobs.report_texts import field_of, value_text
from asfound.jobs.visit_journal import load_visit
from asfound.model.key_tick import KeyTick, tick_mark
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.rekey import KeyRun, RekeyField, RekeyPage
from asfound.model.visit import VisitState
from asfound.web.services import Services
from asfound.web.view_visit import visit_map

Runs = tuple[KeyRun, ...]


@dataclass(frozen=True, slots=True)
class KeyRow:
    """One setting to key in. ``number`` counts through the sheet; ``start`` and ``goal`` are as
    the recorder's screen writes them, with units; ``start`` is None when it is not known."""

    number: int
    mark: str
    field: RekeyField
    start: str | None
    goal: str
    typed: bool
    tick: KeyTick | None
    before: Runs = ()
    after: Runs = ()


@dataclass(frozen=True, slots=True)
class KeyPage:
    """A page of the menu. ``before`` and ``after`` of its first and last row open and store it."""

    page: RekeyPage
    title: str
    rows: tuple[KeyRow, ...]

    @property
    def edges(self) -> int:
        """Presses that open and store the page."""
        return sum(run.times for run in (*self.page.reach, *self.page.save))

    @property
    def done(self) -> int:
        """How many of its settings are ticked."""
        return sum(row.tick is not None for row in self.rows)


@dataclass(frozen=True, slots=True)
class RekeyView:
    """The sheet of a visit; without a plan it has no pages. ``apart`` are labels of settings that
    are listed beside the sheet, by why; ``signs`` what is drawn on a key beside its name."""

    state: VisitState
    pages: tuple[KeyPage, ...]
    progress: SheetProgress
    stamp: str
    apart: Mapping[str, tuple[str, ...]]
    signs: Mapping[str, str]

    @property
    def rows(self) -> tuple[KeyRow, ...]:
        """Every setting, in the order in which it is keyed."""
        return tuple(row for page in self.pages for row in page.rows)

    @property
    def minutes_left(self) -> int:
        """Whole minutes, rounded up: a plan that is too short helps nobody."""
        return -int(-self.progress.seconds_left // 60)

    def now(self, wanted: str = "") -> KeyRow | None:
        """The row to show first: the wanted one, else the first that is not ticked."""
        rows = self.rows
        found = next((row for row in rows if row.mark == wanted), None)
        return found or next((row for row in rows if row.tick is None), None)


def load_rekey(visit: str, services: Services) -> RekeyView:
    """The sheet as it stands. Raises NotFound, IntegrityError, StorageError."""
    desk = services.desk
    # The stamp first: a tick that comes in between is told anew rather than missed.
    stamp = desk.store.ticks_stamp(visit)
    state = load_visit(visit, store=desk.store, blobs=desk.blobs)
    menu_map = visit_map(state, services)
    ticks = ticked(state, desk.store)
    progress = sheet_progress(state, ticks)
    if state.sheet is None or menu_map is None:
        return RekeyView(state, (), progress, stamp, {}, {})
    pages: list[KeyPage] = []
    number = 0
    for page in state.sheet.pages:
        pages.append(_page(page, menu_map, ticks, number, state.sheet.firmware))
        number += len(page.fields)
    sheet = state.sheet
    apart = {
        "clock": _labels(sheet.volatile, menu_map),
        "unknown": _labels(sheet.unknown, menu_map),
        "added": _labels(sheet.added, menu_map),
        "removed": _labels(sheet.removed, menu_map),
    }
    return RekeyView(state, tuple(pages), progress, stamp, apart, _signs(menu_map))


def _page(
    page: RekeyPage, menu_map: MenuMap, ticks: Mapping[str, KeyTick], before: int, firmware: str
) -> KeyPage:
    group = next((item.group for item in menu_map.pages if item.id == page.id), None)
    title = f"{group}: {page.title}" if group else page.title
    last = len(page.fields) - 1
    rows = []
    for place, item in enumerate(page.fields):
        mark = tick_mark(firmware, item)
        field = field_of(menu_map, item.id)
        secret = field is not None and isinstance(field.type, Secret)
        rows.append(
            KeyRow(
                before + place + 1,
                mark,
                item,
                value_text(field, item.from_value) if item.from_value is not None else None,
                value_text(field, item.to_value),
                bool(item.cap_text) and not secret,
                ticks.get(mark),
                page.reach if place == 0 else (),
                page.save if place == last else (),
            )
        )
    return KeyPage(page, title, tuple(rows))


def _signs(menu_map: MenuMap) -> dict[str, str]:
    """Sign by what is printed on the key; a key with two jobs has the first one's."""
    keys = menu_map.keys
    jobs = (
        (keys.up, "up"),
        (keys.down, "down"),
        (keys.left, "left"),
        (keys.right, "right"),
        (keys.ok, "ok"),
        (keys.back, "back"),
    )
    signs: dict[str, str] = {}
    for key, sign in jobs:
        if key:
            signs.setdefault(key, sign)
    return signs


def _labels(ids: tuple[str, ...], menu_map: MenuMap) -> tuple[str, ...]:
    made = []
    for name in ids:
        field = field_of(menu_map, name)
        made.append(f"{page_title(menu_map, name)} · {field.label}" if field else name)
    return tuple(made)
