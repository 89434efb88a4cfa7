"""A menu map: one recorder model's menu as data, so that nothing is coded per model."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from asfound.errors import NotFound
from asfound.model.kinds import FieldType, ReadOnly

Meaning = Literal[
    "camera-name",
    "record",
    "frame-size",
    "frame-rate",
    "bit-rate",
    "codec",
    "audio",
    "clock",
    "clock-time",
    "clock-date",
    "time-zone",
    "summer-time",
    "recording-mode",
    "run-on",
    "overwrite",
    "delete-after",
    "delete-events-after",
    "event-reserve",
    "event-before",
    "event-after",
    "shock-threshold",
    "shock-along",
    "shock-braking",
    "shock-pulling-away",
    "shock-cornering",
    "shock-vertical",
    "shock-collision",
    "shock-duration",
    "speed-threshold",
    "speed-duration",
    "wheel-pulses",
    "supply-volts",
    "cut-off",
    "cut-off-12",
    "cut-off-24",
    "cut-in",
    "firmware",
    "serial",
    "vehicle",
]


@dataclass(frozen=True, slots=True)
class Field:
    """One row of a page.

    ``default`` is the canonical factory value (None: unknown). ``defaults`` overrides it per
    firmware version. ``since`` is the first firmware that has the field and ``until`` the
    first that no longer has it; ``was`` is the id this field had in older firmware.
    ``means`` and ``camera`` say what the value stands for, so that settings can be checked
    against recordings. A ``volatile`` value runs by itself (a clock): it is set at the
    vehicle against a trusted clock, never copied or compared.

    ``drafted`` names what was drafted from photographs and nobody has confirmed: "label",
    "type", "options", "range", "length", "layout", "default". ``check`` says what is doubtful
    about it; ``seen`` holds the values seen and on how many photographs ("*": any value).
    """

    id: str
    label: str
    type: FieldType
    default: str | None = None
    defaults: tuple[tuple[str, str], ...] = ()
    since: str | None = None
    until: str | None = None
    was: str | None = None
    means: Meaning | None = None
    camera: int | None = None
    volatile: bool = False
    drafted: tuple[str, ...] = ()
    check: str = ""
    seen: tuple[tuple[str, int], ...] = ()

    @property
    def settable(self) -> bool:
        """True when a person can key this value in and it should be brought back."""
        return not isinstance(self.type, ReadOnly) and not self.volatile


@dataclass(frozen=True, slots=True)
class Page:
    """One screen of the menu. ``group`` names the first-level entry in a two-level menu."""

    id: str
    title: str
    fields: tuple[Field, ...]
    group: str | None = None


@dataclass(frozen=True, slots=True)
class Keyboard:
    """The on-screen keyboard: rows of key caps.

    A cap is one character, or one of the words SPACE, SHIFT (toggles letter case until pressed
    again: a cap then types the other case of its character), DELETE (last character), CLEAR
    (all) and DONE (accept). A text at its greatest length takes no more characters. ``wrap``:
    the cursor goes round at the edges of a row and of a column (rows may differ in length:
    moving up or down keeps the column, or takes the row's last cap when the row is shorter).
    ``start`` is the (row, column) under the cursor when the keyboard opens; it opens in
    lower case and with the present text in the entry line, unless ``opens_empty``.
    """

    rows: tuple[tuple[str, ...], ...]
    wrap: bool = False
    start: tuple[int, int] = (0, 0)
    opens_empty: bool = False


@dataclass(frozen=True, slots=True)
class Keys:
    """How this recorder's keys move and change values; names are what is printed on the keys.

    A key that has no meaning at the moment does nothing. Only rows of the installed firmware
    are there; a page without any is not in the menu, nor is a group without pages.

    Menu. layout "flat": it opens on the first page; ``next_page``/``previous_page`` change
    page (``page_wrap``: ends are joined), the cursor lands on the first row; ``back`` leaves
    the menu. layout "two-level": it opens on the list of groups; ``ok`` opens a group's list
    of pages, ``ok`` opens a page, ``back`` goes up one level (from the groups: leaves the
    menu); a list keeps its cursor while the visit to a lower level lasts; a list or page that
    is opened starts on its first row.

    Rows. ``up``/``down`` move in pages and lists (``row_wrap``: ends are joined). Read-only
    rows are skipped by the cursor. save "row": a page with rows to stop on ends with a save
    row, ``ok`` on it stores and stays there; leaving without it drops the changes. save
    "leave": leaving the page, or the menu from it, stores.

    Values. Choices, switches (off, on), numbers (words, then minimum to maximum) and levels
    step through their values: ``minus``/``plus`` one back or on; ``coarse`` > 1: with
    ``minus_coarse``/``plus_coarse`` that many, in numbers and levels only. ``value_wrap``:
    after the last value comes the first, and a coarse jump goes round too; without it, steps
    and jumps stop at the ends. edit "direct": these keys change the value of the row under
    the cursor at once; "open": ``ok`` first, then these keys, then ``ok`` again.

    Times, dates and IPv4 addresses open with ``ok`` on their first segment; ``next_part``/
    ``previous_part`` move (ends not joined); ``ok`` accepts, unless the whole is no time, date
    or address. segments "parts": one part (hour, month, octet) at a time, in the order shown;
    ``plus``/``minus`` go round in its range (day 1-31, month 1-12, year 2000-2099). segments
    "digits": one digit at a time, 0-9 round, three for each octet.

    Text, host and secret open the on-screen keyboard with ``ok``; there ``up``, ``down``,
    ``left``, ``right`` move and ``ok`` presses the cap.

    While a value is open, the keys for rows and pages have no meaning, and ``back`` closes it
    unchanged.
    """

    layout: Literal["flat", "two-level"]
    up: str
    down: str
    left: str
    right: str
    ok: str
    back: str
    minus: str
    plus: str
    next_page: str = ""
    previous_page: str = ""
    next_part: str = ""
    previous_part: str = ""
    minus_coarse: str = ""
    plus_coarse: str = ""
    coarse: int = 1
    row_wrap: bool = False
    page_wrap: bool = False
    value_wrap: bool = False
    edit: Literal["direct", "open"] = "direct"
    segments: Literal["digits", "parts"] = "parts"
    save: Literal["row", "leave"] = "row"
    save_label: str = "Save"
    keyboard: Keyboard | None = None
    drafted: bool = False
    """Placeholders in a drafted map: nobody has tried the keys yet."""


@dataclass(frozen=True, slots=True)
class FirmwarePlace:
    """Where on a stick the recorder looks for firmware: ``folder`` from the stick's top ("": the
    top itself, parts joined by "/"), and names that fit ``pattern`` (* and ?)."""

    folder: str
    pattern: str


@dataclass(frozen=True)
class MenuMap:
    """One recorder model: firmware versions oldest first, pages in menu order, keys.

    ``firmware_file`` is None where the map does not say."""

    id: str
    maker: str
    model: str
    cameras: int
    firmware: tuple[str, ...]
    pages: tuple[Page, ...]
    keys: Keys
    firmware_file: FirmwarePlace | None = None

    @cached_property
    def fields(self) -> tuple[Field, ...]:
        """All fields of all firmware versions, in menu order."""
        return tuple(field for page in self.pages for field in page.fields)

    @cached_property
    def _by_id(self) -> dict[str, Field]:
        return {field.id: field for field in self.fields}

    @cached_property
    def _page_of(self) -> dict[str, Page]:
        return {field.id: page for page in self.pages for field in page.fields}

    def field(self, field_id: str) -> Field:
        """The field with this id. Raises NotFound."""
        try:
            return self._by_id[field_id]
        except KeyError:
            raise NotFound(
                f"menu map {self.id} has no field {field_id!r}; "
                f"`asfound map show {self.id}` lists them"
            ) from None

    def page(self, page_id: str) -> Page:
        """The page with this id. Raises NotFound."""
        for page in self.pages:
            if page.id == page_id:
                return page
        raise NotFound(f"menu map {self.id} has no page {page_id!r}")

    def page_of(self, field_id: str) -> Page:
        """The page a field stands on. Raises NotFound."""
        self.field(field_id)
        return self._page_of[field_id]

    def has_firmware(self, version: str) -> bool:
        """True when the map describes this firmware version."""
        return version in self.firmware

    def present(self, field: Field, firmware: str) -> bool:
        """True when ``field`` exists in ``firmware``. Raises NotFound for unknown firmware."""
        rank = self._rank(firmware)
        if field.since is not None and rank < self._rank(field.since):
            return False
        return not (field.until is not None and rank >= self._rank(field.until))

    def fields_in(self, firmware: str) -> tuple[Field, ...]:
        """The fields that exist in ``firmware``, in menu order."""
        return tuple(field for field in self.fields if self.present(field, firmware))

    def page_fields(self, page: Page, firmware: str) -> tuple[Field, ...]:
        """The rows of ``page`` in ``firmware``, top to bottom."""
        return tuple(field for field in page.fields if self.present(field, firmware))

    def default(self, field: Field, firmware: str) -> str | None:
        """Factory value of ``field`` in ``firmware``; None when the map does not know it."""
        return dict(field.defaults).get(firmware, field.default)

    def _rank(self, firmware: str) -> int:
        try:
            return self.firmware.index(firmware)
        except ValueError:
            raise NotFound(
                f"menu map {self.id} does not describe firmware {firmware!r}; "
                f"it knows {', '.join(self.firmware)}"
            ) from None
