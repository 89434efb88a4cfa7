"""A recorder's menu as a state machine of key presses, for tests only.

Written from the words of ``model.menu_map.Keys`` and ``Keyboard`` and from nothing else: it shares
no code with what plans the presses. ``press`` takes the name printed on a key, as a person does.
"""

from __future__ import annotations

import calendar
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.menu_map import Field, Keys, MenuMap

SAVE = None


@dataclass(frozen=True)
class Editor:
    """An opened value: a stepped value, segments, or the line above an on-screen keyboard."""

    value: str = ""
    segments: tuple[int, ...] = ()
    at: int = 0
    text: str | None = None
    cap: tuple[int, int] = (0, 0)
    shift: bool = False


@dataclass(frozen=True)
class State:
    """Where the cursor is, what is stored, and what the page shows but has not stored yet.

    ``level``: 0 list of groups, 1 list of pages, 2 a page, 3 the menu was left. ``list_row`` is the
    cursor in the list of pages, ``row`` the one on the page.
    """

    level: int
    group: int
    list_row: int
    page: int
    row: int
    stored: tuple[str | None, ...]
    shown: tuple[str | None, ...]
    editor: Editor | None = None


@lru_cache(maxsize=512)
def values_in_order(kind: FieldType) -> tuple[str, ...]:
    """Every value of a stepped type, first to last."""
    if isinstance(kind, Choice):
        return kind.options
    if isinstance(kind, Switch):
        return ("off", "on")
    if isinstance(kind, Level):
        return tuple(str(n) for n in range(kind.minimum, kind.maximum + 1))
    assert isinstance(kind, Number)
    figures, value = [], kind.minimum
    while value <= kind.maximum:
        figures.append(f"{value:.{kind.decimals}f}")
        value += kind.step
    return (*kind.words, *figures)


@lru_cache(maxsize=512)
def place_in_order(kind: FieldType) -> dict[str, int]:
    """Where each value of a stepped type stands."""
    return {value: number for number, value in enumerate(values_in_order(kind))}


class Walker:
    """One recorder with one firmware."""

    def __init__(self, menu_map: MenuMap, firmware: str) -> None:
        self.keys: Keys = menu_map.keys
        self.fields: list[Field] = []
        self.stops: list[list[int | None]] = []
        self.groups: list[list[int]] = []
        names: list[str | None] = []
        for page in menu_map.pages:
            rows = [field for field in page.fields if menu_map.present(field, firmware)]
            if not rows:
                continue
            stops: list[int | None] = []
            for field in rows:
                if not isinstance(field.type, ReadOnly):
                    stops.append(len(self.fields))
                self.fields.append(field)
            if stops and self.keys.save == "row":
                stops.append(SAVE)
            if page.group not in names:
                names.append(page.group)
                self.groups.append([])
            self.groups[names.index(page.group)].append(len(self.stops))
            self.stops.append(stops)
        self.number = {field.id: n for n, field in enumerate(self.fields)}

    def opened(self, stored: Iterable[str | None]) -> State:
        """The menu just opened over these stored values (in the order of ``fields``)."""
        values = tuple(stored)
        level = 2 if self.keys.layout == "flat" else 0
        return State(level, 0, 0, 0, 0, values, values)

    def names(self) -> tuple[str, ...]:
        """Every name that is printed on a key."""
        keys = self.keys
        every = [keys.up, keys.down, keys.left, keys.right, keys.ok, keys.back, keys.minus]
        every += [keys.plus, keys.next_page, keys.previous_page, keys.next_part]
        every += [keys.previous_part, keys.minus_coarse, keys.plus_coarse]
        return tuple(dict.fromkeys(name for name in every if name))

    def by_hand(self, state: State, value: str) -> State:
        """A person sets the row under the cursor."""
        field = self.stops[state.page][state.row]
        assert field is not None and state.editor is None
        return self._show(state, field, value)

    def press(self, state: State, key: str) -> State:
        """The state after one key press."""
        if state.level == 3:
            return state
        if state.editor is not None:
            return self._in_editor(state, state.editor, key)
        if state.level < 2:
            return self._in_list(state, key)
        return self._on_page(state, key)

    # ------------------------------------------------------------------ lists and pages

    def _in_list(self, state: State, key: str) -> State:
        keys = self.keys
        pages = self.groups[state.group]
        if key in (keys.up, keys.down):
            step = 1 if key == keys.down else -1
            if state.level == 0:
                there = self._along(state.group, step, len(self.groups), keys.row_wrap)
                return replace(state, group=there)
            there = self._along(state.list_row, step, len(pages), keys.row_wrap)
            return replace(state, list_row=there)
        if key == keys.ok:
            if state.level == 0:
                return replace(state, level=1, list_row=0)
            return replace(state, level=2, page=pages[state.list_row], row=0, shown=state.stored)
        if key == keys.back:
            return replace(state, level=0 if state.level == 1 else 3, list_row=0)
        return state

    def _on_page(self, state: State, key: str) -> State:
        keys = self.keys
        stops = self.stops[state.page]
        if key in (keys.up, keys.down):
            if not stops:
                return state
            step = 1 if key == keys.down else -1
            return replace(state, row=self._along(state.row, step, len(stops), keys.row_wrap))
        if key == keys.back:
            return replace(self._leave(state), level=3 if keys.layout == "flat" else 1, row=0)
        if keys.layout == "flat" and key in (keys.next_page, keys.previous_page):
            step = 1 if key == keys.next_page else -1
            there = self._along(state.page, step, len(self.stops), keys.page_wrap)
            if there == state.page:
                return state
            return replace(self._leave(state), page=there, row=0)
        if not stops:
            return state
        field = stops[state.row]
        if field is SAVE:
            return replace(state, stored=state.shown) if key == keys.ok else state
        return self._on_row(state, field, key)

    def _on_row(self, state: State, number: int, key: str) -> State:
        keys, kind = self.keys, self.fields[number].type
        value = state.shown[number]
        if isinstance(kind, Choice | Switch | Number | Level):
            if value is None:
                return state
            if keys.edit == "direct":
                return self._show(state, number, self._stepped(kind, value, key))
            return replace(state, editor=Editor(value=value)) if key == keys.ok else state
        if key != keys.ok or value is None:
            return state
        if isinstance(kind, Time | Date | IPv4):
            return replace(state, editor=Editor(segments=self._to_segments(kind, value)))
        board = keys.keyboard
        if board is None or isinstance(kind, Secret):
            return state
        text = "" if board.opens_empty else value
        return replace(state, editor=Editor(text=text, cap=board.start))

    def _leave(self, state: State) -> State:
        if self.keys.save == "leave":
            return replace(state, stored=state.shown)
        return replace(state, shown=state.stored)

    def _show(self, state: State, number: int, value: str) -> State:
        shown = (*state.shown[:number], value, *state.shown[number + 1 :])
        return replace(state, shown=shown, editor=None)

    @staticmethod
    def _along(at: int, step: int, count: int, wrap: bool) -> int:
        there = at + step
        if 0 <= there < count:
            return there
        return there % count if wrap else at

    # ------------------------------------------------------------------ opened values

    def _in_editor(self, state: State, editor: Editor, key: str) -> State:
        number = self.stops[state.page][state.row]
        assert number is not None
        kind = self.fields[number].type
        if key == self.keys.back:
            return replace(state, editor=None)
        if editor.text is not None:
            return self._on_keyboard(state, number, editor, key)
        if editor.segments:
            return self._in_segments(state, number, editor, key)
        if key == self.keys.ok:
            return self._show(state, number, editor.value)
        return replace(state, editor=Editor(value=self._stepped(kind, editor.value, key)))

    def _stepped(self, kind: FieldType, value: str, key: str) -> str:
        keys = self.keys
        order = values_in_order(kind)
        jumps = {keys.minus: -1, keys.plus: 1}
        if keys.coarse > 1 and isinstance(kind, Number | Level):
            jumps |= {keys.minus_coarse: -keys.coarse, keys.plus_coarse: keys.coarse}
        if key not in jumps:
            return value
        there = place_in_order(kind)[value] + jumps[key]
        if keys.value_wrap:
            return order[there % len(order)]
        return order[max(0, min(there, len(order) - 1))]

    def _in_segments(self, state: State, number: int, editor: Editor, key: str) -> State:
        keys, kind = self.keys, self.fields[number].type
        if key == keys.ok:
            value = self._from_segments(kind, editor.segments)
            return state if value is None else self._show(state, number, value)
        if key in (keys.next_part, keys.previous_part):
            at = editor.at + (1 if key == keys.next_part else -1)
            at = max(0, min(at, len(editor.segments) - 1))
            return replace(state, editor=replace(editor, at=at))
        if key in (keys.plus, keys.minus):
            low, high = self._range(kind, editor.at)
            part = editor.segments[editor.at] + (1 if key == keys.plus else -1)
            part = low if part > high else high if part < low else part
            parts = list(editor.segments)
            parts[editor.at] = part
            return replace(state, editor=replace(editor, segments=tuple(parts)))
        return state

    def _range(self, kind: FieldType, at: int) -> tuple[int, int]:
        if self.keys.segments == "digits":
            return 0, 9
        if isinstance(kind, IPv4):
            return 0, 255
        if isinstance(kind, Time):
            return (0, 23) if at == 0 else (0, 59)
        assert isinstance(kind, Date)
        return {"D": (1, 31), "M": (1, 12), "Y": (2000, 2099)}[_letters(kind)[at]]

    def _to_segments(self, kind: FieldType, value: str) -> tuple[int, ...]:
        digits = self.keys.segments == "digits"
        if isinstance(kind, IPv4):
            octets = value.split(".")
            if digits:
                return tuple(int(digit) for octet in octets for digit in octet.zfill(3))
            return tuple(int(octet) for octet in octets)
        if isinstance(kind, Time):
            return tuple(map(int, value.replace(":", "") if digits else value.split(":")))
        assert isinstance(kind, Date)
        texts = dict(zip("YMD", value.split("-"), strict=True))
        parts = [texts[letter] for letter in _letters(kind)]
        return tuple(map(int, "".join(parts) if digits else parts))

    def _from_segments(self, kind: FieldType, segments: tuple[int, ...]) -> str | None:
        digits = self.keys.segments == "digits"
        if isinstance(kind, IPv4):
            octets = _joined(segments, (3, 3, 3, 3)) if digits else list(segments)
            return ".".join(map(str, octets)) if max(octets) <= 255 else None
        if isinstance(kind, Time):
            widths = (2, 2, 2) if kind.seconds else (2, 2)
            parts = _joined(segments, widths) if digits else list(segments)
            fits = parts[0] < 24 and all(part < 60 for part in parts[1:])
            return ":".join(f"{part:02d}" for part in parts) if fits else None
        assert isinstance(kind, Date)
        order = _letters(kind)
        year_first = tuple(4 if letter == "Y" else 2 for letter in order)
        parts = _joined(segments, year_first) if digits else list(segments)
        named = dict(zip(order, parts, strict=True))
        year, month, day = named["Y"], named["M"], named["D"]
        if year < 1 or not 1 <= month <= 12 or not 1 <= day <= calendar.monthrange(year, month)[1]:
            return None
        return f"{year:04d}-{month:02d}-{day:02d}"

    def _on_keyboard(self, state: State, number: int, editor: Editor, key: str) -> State:
        keys, board = self.keys, self.keys.keyboard
        assert board is not None and editor.text is not None
        row, column = editor.cap
        if key in (keys.left, keys.right):
            step = 1 if key == keys.right else -1
            column = self._along(column, step, len(board.rows[row]), board.wrap)
            return replace(state, editor=replace(editor, cap=(row, column)))
        if key in (keys.up, keys.down):
            step = 1 if key == keys.down else -1
            row = self._along(row, step, len(board.rows), board.wrap)
            column = min(column, len(board.rows[row]) - 1)
            return replace(state, editor=replace(editor, cap=(row, column)))
        if key != keys.ok:
            return state
        cap = board.rows[row][column]
        if cap == "DONE":
            return self._show(state, number, editor.text)
        return replace(state, editor=self._capped(number, editor, cap))

    def _capped(self, number: int, editor: Editor, cap: str) -> Editor:
        assert editor.text is not None
        if cap == "SHIFT":
            return replace(editor, shift=not editor.shift)
        if cap == "CLEAR":
            return replace(editor, text="")
        if cap == "DELETE":
            return replace(editor, text=editor.text[:-1])
        kind = self.fields[number].type
        assert isinstance(kind, Text | Host)
        char = " " if cap == "SPACE" else cap
        if editor.shift:
            char = char.upper() if char.islower() else char.lower()
        full = len(editor.text) >= kind.max_length
        return editor if full else replace(editor, text=editor.text + char)


def fewest(
    walker: Walker,
    start: State,
    done: Callable[[State], bool],
    allowed: Callable[[State], bool],
    limit: int,
) -> int | None:
    """Fewest presses from ``start`` to a state that is done, through allowed states only.

    None when none of at most ``limit`` presses does it. Plain breadth-first search over every key.
    """
    if done(start):
        return 0
    names = walker.names()
    seen, edge = {start}, [start]
    for presses in range(1, limit + 1):
        ring: list[State] = []
        for state in edge:
            for name in names:
                there = walker.press(state, name)
                if there in seen or not allowed(there):
                    continue
                if done(there):
                    return presses
                seen.add(there)
                ring.append(there)
        edge = ring
    return None


def _letters(kind: Date) -> str:
    """The order of year, month and day on the screen, as "YMD", "DMY" or "MDY"."""
    return "".join(dict.fromkeys(letter for letter in kind.layout if letter in "YMD"))


def _joined(digits: tuple[int, ...], widths: tuple[int, ...]) -> list[int]:
    text = "".join(map(str, digits))
    parts, at = [], 0
    for width in widths:
        parts.append(int(text[at : at + width]))
        at += width
    return parts
