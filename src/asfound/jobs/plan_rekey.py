"""Plan the re-key sheet: the fewest key presses from factory defaults to the target."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from asfound.calc.key_minutes import keying_seconds
from asfound.calc.key_paths import MenuGraph, row_moves
from asfound.calc.key_values import Presses, change
from asfound.calc.keyboard import typing
from asfound.calc.open_values import unlisted, value_problem
from asfound.errors import InputError, MapError, UsageError
from asfound.jobs.renames import renamed_between
from asfound.model.kinds import Host, ReadOnly, Secret, Text
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.rekey import KeyRun, RekeyField, RekeyPage, RekeySheet
from asfound.model.target import Target


@dataclass(frozen=True, slots=True)
class PlanRekey:
    """Plan for ``firmware``, as it is after a factory reset.

    ``as_found_firmware`` is the version that was installed before (None: not known, or the
    same); it only decides what is listed as added, removed and renamed.
    """

    menu_map: MenuMap
    firmware: str
    target: Target
    as_found_firmware: str | None = None


def plan_rekey(request: PlanRekey) -> RekeySheet:
    """The sheet: fields that differ, in menu order, each page visited and stored once.

    In that order, and with each value opened and accepted once, no sequence of key presses is
    shorter. (Accepting half a text and opening the keyboard anew can save a press, because the
    cursor starts over; nobody should have to follow that.) Raises UsageError (a target for
    another recorder or firmware), NotFound (unknown firmware or field), InputError (a target value
    that the field cannot have).
    """
    menu_map, firmware = request.menu_map, request.firmware
    wanted = _wanted(request)
    pages = _Planner(menu_map, firmware).pages(wanted)
    fields = [field for page in pages for field in page.fields]
    runs = [run for page in pages for run in _runs_of(page)]
    presses = sum(page.presses for page in pages)
    added, removed, renamed = _moved(menu_map, request.as_found_firmware or firmware, firmware)
    return RekeySheet(
        map_id=menu_map.id,
        firmware=firmware,
        pages=tuple(pages),
        presses=presses,
        seconds=keying_seconds(len(fields), len(runs), presses),
        added=added,
        removed=removed,
        renamed=renamed,
        volatile=tuple(
            field.id
            for field in menu_map.fields_in(firmware)
            if field.volatile and not isinstance(field.type, ReadOnly)
        ),
        unknown=request.target.unknown,
    )


def _wanted(request: PlanRekey) -> dict[str, str]:
    target, menu_map = request.target, request.menu_map
    if (target.map_id, target.firmware) != (menu_map.id, request.firmware):
        raise UsageError(
            f"the target is for {target.map_id} {target.firmware}, not for {menu_map.id} "
            f"{request.firmware}; build it again for this recorder"
        )
    if menu_map.keys.drafted:
        raise MapError(
            f"menu map {menu_map.id}: its keys are placeholders of a draft; try them at the "
            "recorder (docs/menu-map.md, 3) and remove drafted from [keys]"
        )
    values = target.as_dict()
    for name, value in values.items():
        field = menu_map.field(name)
        if not field.settable or not menu_map.present(field, request.firmware):
            raise InputError(
                f"target value for {name!r}: firmware {request.firmware} of {menu_map.id} has no "
                "such setting; remove it from the target"
            )
        if text := value_problem(field.type, field.drafted, value):
            raise InputError(f"target value for {name!r}: {text}; correct the target")
    return values


class _Planner:
    def __init__(self, menu_map: MenuMap, firmware: str) -> None:
        self.map = menu_map
        self.keys = menu_map.keys
        self.firmware = firmware
        rows = [(page, menu_map.page_fields(page, firmware)) for page in menu_map.pages]
        self.menu = [(page, fields) for page, fields in rows if fields]
        self.graph = MenuGraph(self.keys, [page.group for page, _ in self.menu])

    def pages(self, wanted: dict[str, str]) -> list[RekeyPage]:
        """The pages to visit. ``place`` follows the cursor from one to the next."""
        flat, leave = self.keys.layout == "flat", self.keys.save == "leave"
        place = self.graph.opening()
        todo = [
            (number, page, rows, fields)
            for number, (page, rows) in enumerate(self.menu)
            if (fields := [row for row in rows if self._differs(row, wanted)])
        ]
        pages: list[RekeyPage] = []
        for number, page, rows, fields in todo:
            reach = self.graph.way(place, self.graph.page(number))
            place = self.graph.page(number)
            stops = [row for row in rows if not isinstance(row.type, ReadOnly)]
            done, last = self._fields(stops, fields, wanted)
            save: Presses = ()
            if not leave:
                count = len(stops) + 1
                save = (*row_moves(count, last, count - 1, self.keys.row_wrap), ("ok", 1))
            elif not flat or number == todo[-1][0]:
                # Leaving stores. In a flat menu the way to the next page leaves this one.
                save = (("back", 1),)
                place = place if flat else self.graph.left(number)
            pages.append(self._page(page, number, reach, done, save))
        return pages

    def _page(
        self, page: Page, number: int, reach: Presses, fields: list[RekeyField], save: Presses
    ) -> RekeyPage:
        runs = [key_runs(self.keys, presses) for presses in (reach, save)]
        return RekeyPage(page.id, page.title, number + 1, runs[0], tuple(fields), runs[1])

    def _differs(self, field: Field, wanted: dict[str, str]) -> bool:
        value = wanted.get(field.id)
        if value is None:
            return False
        # What a secret is, nobody knows: one that is set must be set again after a reset.
        secret = isinstance(field.type, Secret) and value == "set"
        return secret or value != self.map.default(field, self.firmware)

    def _fields(
        self, stops: list[Field], fields: list[Field], wanted: dict[str, str]
    ) -> tuple[list[RekeyField], int]:
        count = len(stops) + (self.keys.save == "row")
        at, done = 0, []
        for field in fields:
            row = stops.index(field)
            move = row_moves(count, at, row, self.keys.row_wrap)
            done.append(self._field(field, wanted[field.id], move))
            at = row
        return done, at

    def _field(self, field: Field, value: str, move: Presses) -> RekeyField:
        default = self.map.default(field, self.firmware)
        presses, note = value_presses(self.keys, field, default, value)
        typed = isinstance(field.type, Host | Text)
        return RekeyField(
            id=field.id,
            label=field.label,
            from_value=default,
            to_value=value,
            move=key_runs(self.keys, move),
            change=key_runs(self.keys, presses or ()),
            by_hand=presses is None,
            cap_text=value if typed else "",
            note=note,
        )


def value_presses(
    keys: Keys, field: Field, default: str | None, value: str
) -> tuple[Presses | None, str]:
    """The presses that set ``field``, or None and why a person has to set it."""
    kind = field.type
    if isinstance(kind, Secret):
        return None, "key in what its owner chose" if value == "set" else "empty it"
    if default is None:
        return None, "factory value not known: look, and set it if it differs"
    if any(unlisted(kind, field.drafted, one) for one in (default, value)):
        return None, "the drafted map does not list this value yet: set it by hand"
    if isinstance(kind, Host | Text):
        presses = typing(keys.keyboard, default, value) if keys.keyboard else None
        return presses, "" if presses else "a character has no cap that is known: enter it by hand"
    presses = change(keys, kind, default, value)
    return presses, "" if presses else "outside what the keys are known to reach: set it by hand"


def key_runs(keys: Keys, presses: Presses) -> tuple[KeyRun, ...]:
    """Presses under the names that are printed on the keys; neighbours of one name joined."""
    runs: list[KeyRun] = []
    for name, times in presses:
        printed: str = getattr(keys, name)
        if runs and runs[-1].key == printed:
            times += runs.pop().times
        runs.append(KeyRun(printed, times))
    return tuple(runs)


def _runs_of(page: RekeyPage) -> Iterable[KeyRun]:
    yield from page.reach
    for field in page.fields:
        yield from field.move
        yield from field.change
    yield from page.save


def _moved(
    menu_map: MenuMap, old: str, new: str
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[tuple[str, str], ...]]:
    renamed = renamed_between(menu_map, old, new)
    before = {field.id for field in menu_map.fields_in(old) if field.settable}
    after = {field.id for field in menu_map.fields_in(new) if field.settable}
    left_over = {name for pair in renamed for name in pair}
    in_order = [field.id for field in menu_map.fields]
    added = tuple(name for name in in_order if name in after - before - left_over)
    removed = tuple(name for name in in_order if name in before - after - left_over)
    return added, removed, renamed
