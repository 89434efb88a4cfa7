"""The shape of a menu map file (asfound-map/1), key by key; its JSON Schema is made from this.

Every description below goes into ``docs/menu-map.schema.json``, so that an editor can show it.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict
from pydantic import Field as Key

from asfound.calc.stick_names import path_fault
from asfound.model.kinds import DateLayout
from asfound.model.menu_map import Meaning

_ID = r"([a-z0-9]|\{n\})+([.-]([a-z0-9]|\{n\})+)*"
_LINE = r"\S([^\n]*\S)?"


def _id(text: str) -> str:
    if not re.fullmatch(_ID, text):
        raise ValueError(f"{text!r} is no id; use a-z and 0-9, joined by single dots or hyphens")
    return text


def _line(text: str) -> str:
    if not re.fullmatch(_LINE, text) or not text.isprintable():
        raise ValueError(f"{text!r} is empty or has blanks around it; write it as one bare line")
    return text


def folder_on_stick(text: str) -> str:
    """A folder on a stick that FAT takes as it is. Raises ValueError."""
    if fault := path_fault(text):
        raise ValueError(f"{text!a}: {fault}; write parts joined by /, or nothing for the top")
    return text


def stick_pattern(text: str) -> str:
    """Names with * and ? that FAT takes. Raises ValueError."""
    if fault := path_fault(text.replace("*", "x").replace("?", "x") or "/"):
        raise ValueError(f"{text!a}: {fault}; write a name with * and ?, such as *.img")
    if "/" in text:
        raise ValueError(f"{text!a} names a folder; write that as folder")
    return text


Id = Annotated[
    str,
    AfterValidator(_id),
    Key(max_length=80, json_schema_extra={"pattern": f"^{_ID}$"}, examples=["clock.zone"]),
]
Line = Annotated[
    str, AfterValidator(_line), Key(max_length=80, json_schema_extra={"pattern": f"^{_LINE}$"})
]
KeyName = Annotated[str, Key(max_length=16)]
Figure = Annotated[Decimal, Key(strict=False, allow_inf_nan=False)]
Part = Literal["label", "type", "options", "range", "length", "layout", "default"]
Note = Annotated[str, Key(max_length=400)]
Count = Annotated[int, Key(ge=1)]
Size = Annotated[int, Key(ge=1, le=255)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _FieldTable(_Table):
    """One row of a page."""

    id: Id = Key(description="Unique in the map; {n} stands for the camera's number.")
    label: Line = Key(description="The text beside the value, as the screen shows it.")
    default: str | None = Key(None, description="Factory value, canonical; left out: unknown.")
    defaults: dict[str, str] = Key({}, description="Factory value where a firmware has another.")
    since: str | None = Key(None, description="First firmware that has this row.")
    until: str | None = Key(None, description="First firmware that no longer has this row.")
    was: Id | None = Key(None, description="Id of the row that this one replaced.")
    means: Meaning | None = Key(None, description="What the value stands for in a recording.")
    camera: Annotated[int, Key(ge=1)] | None = Key(None, description="Camera it belongs to.")
    volatile: bool = Key(False, description="true: it runs by itself, such as a clock.")
    drafted: list[Part] = Key(
        [], description="What was drafted from photographs and nobody has confirmed yet."
    )
    check: Note = Key("", description="What is doubtful about a drafted row; empty: nothing.")
    seen: dict[str, Count] = Key(
        {}, description="Values seen while drafting, and on how many photographs; * is any."
    )


class ChoiceTable(_FieldTable):
    """One of a fixed list of options."""

    type: Literal["choice"]
    options: list[Line] = Key(min_length=1, description="In the order the recorder steps.")
    amounts: dict[str, str] = Key({}, description="Option to figures: 1920x1080, fps, bit/s.")


class SwitchTable(_FieldTable):
    """On or off."""

    type: Literal["switch"]
    on: Line = Key("On", description="The word shown when on.")
    off: Line = Key("Off", description="The word shown when off.")


class NumberTable(_FieldTable):
    """A number in steps."""

    type: Literal["number"]
    minimum: Figure
    maximum: Figure
    step: Figure = Decimal(1)
    decimals: Annotated[int, Key(ge=0, le=6)] = 0
    unit: Annotated[str, Key(max_length=12)] = Key("", description="Shown after the number.")
    words: list[Line] = Key([], description="Special values before the minimum, such as Off.")


class LevelTable(_FieldTable):
    """A small whole number, often with a bar."""

    type: Literal["level"]
    minimum: Annotated[int, Key(ge=-1000, le=1000)]
    maximum: Annotated[int, Key(ge=-1000, le=1000)]


class TimeTable(_FieldTable):
    """A time of day, 24 h."""

    type: Literal["time"]
    seconds: bool = False


class DateTable(_FieldTable):
    """A calendar date; its default is written YYYY-MM-DD whatever the layout."""

    type: Literal["date"]
    layout: DateLayout = "YYYY-MM-DD"


class IPv4Table(_FieldTable):
    """An IPv4 address."""

    type: Literal["ipv4"]
    padded: bool = Key(False, description="true when shown as 192.168.001.010.")


class HostTable(_FieldTable):
    """A server's name or address."""

    type: Literal["host"]
    max_length: Size = 63


class TextTable(_FieldTable):
    """Free text."""

    type: Literal["text"]
    max_length: Size = 32
    alphabet: str = Key("", description="Characters the recorder takes; empty: any.")


class SecretTable(_FieldTable):
    """A password or code; its default is "set" or "blank"."""

    type: Literal["secret"]
    max_length: Size = 32
    mask: Annotated[str, Key(min_length=1, max_length=1)] = "*"


class ReadOnlyTable(_FieldTable):
    """Shown, not set."""

    type: Literal["read-only"]
    what: Literal["version", "serial", "text", "clock"] = "text"


FieldTable = Annotated[
    ChoiceTable
    | SwitchTable
    | NumberTable
    | LevelTable
    | TimeTable
    | DateTable
    | IPv4Table
    | HostTable
    | TextTable
    | SecretTable
    | ReadOnlyTable,
    Key(discriminator="type"),
]


class PageTable(_Table):
    """One screen of the menu."""

    id: Id
    title: Line = Key(description="The page's heading, as the screen shows it.")
    group: Line | None = Key(None, description="First-level entry, in two-level menus.")
    for_each_camera: bool = Key(False, description="true: repeated for each camera, {n}.")
    drafted: list[Literal["title", "group"]] = Key(
        [], description="What was drafted from photographs and nobody has confirmed yet."
    )
    check: Note = Key("", description="What is doubtful about a drafted page; empty: nothing.")
    seen: Annotated[int, Key(ge=0)] = Key(0, description="Photographs that it was drafted from.")
    field: list[FieldTable] = Key(min_length=1)


class KeyboardTable(_Table):
    """The on-screen keyboard, cap by cap: a character, SPACE, SHIFT, DELETE, CLEAR or DONE."""

    rows: list[Annotated[list[str], Key(min_length=1)]] = Key(min_length=1)
    wrap: bool = Key(False, description="true: the cursor goes round at the edges.")
    start: Annotated[list[Annotated[int, Key(ge=0)]], Key(min_length=2, max_length=2)] = [0, 0]
    opens_empty: bool = Key(False, description="true: it opens without the present text.")


class KeysTable(_Table):
    """The keys and what they do; see docs/menu-map.md."""

    layout: Literal["flat", "two-level"]
    up: KeyName
    down: KeyName
    left: KeyName
    right: KeyName
    ok: KeyName
    back: KeyName
    minus: KeyName
    plus: KeyName
    next_page: KeyName = ""
    previous_page: KeyName = ""
    next_part: KeyName = ""
    previous_part: KeyName = ""
    minus_coarse: KeyName = ""
    plus_coarse: KeyName = ""
    coarse: Annotated[int, Key(ge=1, le=1000)] = 1
    row_wrap: bool = False
    page_wrap: bool = False
    value_wrap: bool = False
    edit: Literal["direct", "open"] = "direct"
    segments: Literal["digits", "parts"] = "parts"
    save: Literal["row", "leave"] = "row"
    save_label: Line = "Save"
    keyboard: KeyboardTable | None = None
    drafted: bool = Key(False, description="true: placeholders; nobody has tried the keys yet.")


class FirmwareFileTable(_Table):
    """Where on a stick the recorder looks for firmware."""

    folder: Annotated[str, AfterValidator(folder_on_stick), Key(max_length=255)] = Key(
        "", description="Folder from the stick's top; empty: the top itself."
    )
    pattern: Annotated[str, AfterValidator(stick_pattern), Key(max_length=255)] = Key(
        description="Names that it takes for firmware, with * and ?."
    )


class MapFile(_Table):
    """A menu map: one recorder model's menu."""

    model_config = ConfigDict(extra="forbid", strict=True, title="asfound menu map")

    format: Literal["asfound-map/1"]
    id: Id
    maker: Line
    model: Line
    cameras: Annotated[int, Key(ge=1, le=64)]
    firmware: list[Line] = Key(min_length=1, description="Known versions, oldest first.")
    keys: KeysTable
    firmware_file: FirmwareFileTable | None = Key(
        None, description="Where on a stick the recorder looks for firmware; left out: unknown."
    )
    page: list[PageTable] = Key(min_length=1)
