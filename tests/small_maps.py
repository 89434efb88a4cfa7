"""Random small menu maps and targets, and random targets for large ones (tests only)."""

from __future__ import annotations

import string
from decimal import Decimal
from typing import Literal

from hypothesis import strategies as st
from tests.walker import values_in_order

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
from asfound.model.menu_map import Field, Keyboard, Keys, MenuMap, Page
from asfound.model.target import Origin, Target, TargetValue

FIRMWARE = "1.0"


@st.composite
def keyboards(draw: st.DrawFn) -> Keyboard:
    """A few caps in rows of differing length; always DONE, and a way to take text away."""
    letters = st.lists(st.sampled_from([*"abC1", "SPACE"]), min_size=1, max_size=2, unique=True)
    caps = draw(letters) + draw(st.sampled_from([[], ["SHIFT"]]))
    opens_empty = draw(st.booleans())
    away = draw(st.sampled_from([["DELETE"], ["CLEAR"], ["DELETE", "CLEAR"]]))
    caps = draw(st.permutations([*caps, "DONE", *away]))
    rows: list[tuple[str, ...]] = []
    while caps:
        width = draw(st.integers(1, 4))
        rows.append(tuple(caps[:width]))
        caps = caps[width:]
    row = draw(st.integers(0, len(rows) - 1))
    start = (row, draw(st.integers(0, len(rows[row]) - 1)))
    return Keyboard(tuple(rows), draw(st.booleans()), start, opens_empty)


@st.composite
def keys(draw: st.DrawFn) -> Keys:
    """Every combination of what ``Keys`` can say; some keys do double duty, as on real ones."""
    edit: Literal["direct", "open"] = draw(st.sampled_from(["direct", "open"]))
    shared = edit == "open" and draw(st.booleans())
    coarse = draw(st.sampled_from([1, 2, 3, 5]))
    return Keys(
        layout=draw(st.sampled_from(["flat", "two-level"])),
        up="U",
        down="D",
        left="L",
        right="R",
        ok="OK",
        back="B",
        minus="D" if shared else "-",
        plus="U" if shared else "+",
        next_page="N",
        previous_page="P",
        next_part="R",
        previous_part="L",
        minus_coarse="--" if coarse > 1 else "",
        plus_coarse="++" if coarse > 1 else "",
        coarse=coarse,
        row_wrap=draw(st.booleans()),
        page_wrap=draw(st.booleans()),
        value_wrap=draw(st.booleans()),
        edit=edit,
        segments=draw(st.sampled_from(["digits", "parts"])),
        save=draw(st.sampled_from(["row", "leave"])),
        keyboard=draw(keyboards()),
    )


def typed_characters(board: Keyboard) -> str:
    """Every character the keyboard can type."""
    caps = {cap for row in board.rows for cap in row}
    found = {" " if cap == "SPACE" else cap for cap in caps if cap == "SPACE" or len(cap) == 1}
    if "SHIFT" in caps:
        found |= {char.swapcase() for char in found}
    return "".join(sorted(found))


@st.composite
def fields(draw: st.DrawFn, name: str, board: Keyboard) -> tuple[Field, str]:
    """A field of few values and a target value for it."""
    kind: FieldType
    which = draw(st.sampled_from(["choice", "switch", "number", "level", "text", "shown"]))
    if which == "shown":
        return Field(name, name, ReadOnly()), ""
    if which == "text":
        kind = Text(max_length=2)
        texts = st.text(typed_characters(board), max_size=2)
        return Field(name, name, kind, draw(texts)), draw(texts)
    if which == "choice":
        kind = Choice(tuple("abcdef"[: draw(st.integers(1, 6))]))
    elif which == "switch":
        kind = Switch()
    elif which == "level":
        kind = Level(-1, draw(st.integers(0, 7)))
    else:
        words = ("Off", "Auto")[: draw(st.integers(0, 2))]
        kind = Number(
            Decimal("0.5"), Decimal(draw(st.integers(1, 6))), Decimal("0.5"), 1, "", words
        )
    values = st.sampled_from(values_in_order(kind))
    return Field(name, name, kind, draw(values)), draw(values)


NEAR: list[tuple[FieldType, str, str]] = [
    (Time(), "23:59", "00:59"),
    (Time(), "08:00", "08:58"),
    (Time(seconds=True), "00:00:00", "22:01:00"),
    (Date("DD.MM.YYYY"), "2026-12-31", "2026-01-31"),
    (Date("DD.MM.YYYY"), "2026-01-31", "2026-02-01"),
    (Date("MM/DD/YYYY"), "2099-02-28", "2099-03-01"),
    (Date(), "2099-02-28", "2000-02-28"),
    (Date(), "2024-02-29", "2023-03-29"),
    (IPv4(), "0.0.0.0", "255.0.0.0"),
    (IPv4(), "100.1.0.0", "0.1.0.0"),
    (IPv4(padded=True), "9.0.0.0", "8.255.0.0"),
]


@st.composite
def plans(draw: st.DrawFn) -> tuple[MenuMap, Target]:
    """A map of two to four pages of up to four rows, and a target for it."""
    chosen = draw(keys())
    assert chosen.keyboard is not None
    pages: list[Page] = []
    values: list[TargetValue] = []
    groups = sorted(draw(st.lists(st.sampled_from("XYZ"), min_size=2, max_size=4)))
    for number, group in enumerate(groups):
        rows: list[Field] = []
        for row in range(draw(st.sampled_from([1, 2, 3, 4, 0] if number else [2, 3, 1]))):
            field, target = draw(fields(f"f{number}.{row}", chosen.keyboard))
            rows.append(field)
            if field.settable and draw(st.sampled_from([True, True, False])):
                values.append(TargetValue(field.id, target, Origin.OVERRIDE))
        two_level = chosen.layout == "two-level"
        pages.append(Page(f"p{number}", f"P{number}", tuple(rows), group if two_level else None))
    menu_map = MenuMap("small", "Small", "Small", 1, (FIRMWARE,), tuple(pages), chosen)
    return menu_map, Target("small", FIRMWARE, tuple(values))


@st.composite
def part_plans(draw: st.DrawFn) -> tuple[MenuMap, Target]:
    """A map of one row, a time, date or address, whose target is only a few presses off."""
    kind, default, target = draw(st.sampled_from(NEAR))
    pages = (Page("p", "P", (Field("f", "F", kind, default),), "X"),)
    menu_map = MenuMap("small", "Small", "Small", 1, (FIRMWARE,), pages, draw(keys()))
    value = TargetValue("f", target, Origin.OVERRIDE)
    return menu_map, Target("small", FIRMWARE, (value,))


def random_value(draw: st.DrawFn, kind: FieldType, board: Keyboard) -> str:
    """Any canonical value of ``kind`` that this recorder can be brought to."""
    if isinstance(kind, Choice | Switch | Level | Number):
        order = values_in_order(kind)
        return order[draw(st.integers(0, len(order) - 1))]
    if isinstance(kind, Time):
        time = draw(st.times())
        return time.strftime("%H:%M:%S" if kind.seconds else "%H:%M")
    if isinstance(kind, Date):
        return f"20{draw(st.integers(0, 99)):02d}-{draw(st.integers(1, 12)):02d}-28"
    if isinstance(kind, IPv4):
        return ".".join(str(draw(st.integers(0, 255))) for _ in range(4))
    if isinstance(kind, Host):
        middle = st.text(string.ascii_lowercase + "0123456789.-", max_size=kind.max_length - 2)
        return f"a{draw(middle)}z"
    if isinstance(kind, Text):
        alphabet = kind.alphabet or typed_characters(board)
        return draw(st.text(alphabet, max_size=kind.max_length))
    assert isinstance(kind, Secret)
    return draw(st.sampled_from(["set", "blank"]))


@st.composite
def random_values(draw: st.DrawFn, menu_map: MenuMap, firmware: str) -> dict[str, str]:
    """Values for about a quarter of the settings."""
    board = menu_map.keys.keyboard
    assert board is not None
    return {
        field.id: random_value(draw, field.type, board)
        for field in menu_map.fields_in(firmware)
        if field.settable and draw(st.integers(0, 3)) == 0
    }
