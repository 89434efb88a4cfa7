"""What the keys and the on-screen keyboard of a menu map must keep."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from asfound.model.kinds import Date, Host, IPv4, Secret, Text, Time
from asfound.model.menu_map import Keyboard, Keys, MenuMap
from asfound.ports.backends.toml_checked import Faults

WORDS = ("SPACE", "SHIFT", "DELETE", "CLEAR", "DONE")
"""Caps of the on-screen keyboard that are not a character."""

HOST_CHARACTERS = "abcdefghijklmnopqrstuvwxyz0123456789.-"
"""Letters, digits, hyphen (RFC 952, RFC 1123 2.1) and the dot between labels."""

Fault = tuple[str, str]


def check_keys(menu_map: MenuMap, faults: Faults) -> None:
    """Add every fault of ``menu_map.keys`` to ``faults``."""
    keys = menu_map.keys
    for key, text in [*_needed(menu_map), *_clashes(keys)]:
        faults.add(("keys", key), text)
    if keys.keyboard is None:
        if _typed(menu_map) and not keys.drafted:
            text = "texts are typed on it; describe its rows as [keys.keyboard]"
            faults.add(("keys", "keyboard"), text)
        return
    for key, text in [*_caps(keys.keyboard), *_missing_caps(menu_map, keys.keyboard)]:
        faults.add(("keys", "keyboard", key), text)


def _needed(menu_map: MenuMap) -> Iterator[Fault]:
    keys = menu_map.keys
    needed = ["up", "down", "ok", "back", "minus", "plus"]
    if keys.layout == "flat":
        needed += ["next_page", "previous_page"]
    if any(isinstance(field.type, Time | Date | IPv4) for field in menu_map.fields):
        needed += ["next_part", "previous_part"]
    if keys.keyboard is not None:
        needed += ["left", "right"]
    if keys.coarse > 1:
        needed += ["minus_coarse", "plus_coarse"]
    for name in needed:
        if not getattr(keys, name):
            yield name, "this menu needs the key; write the name that is printed on it"
    if keys.coarse == 1 and (keys.minus_coarse or keys.plus_coarse):
        yield "coarse", "say how many steps the coarse keys jump; add coarse = 10 or so"


def _clashes(keys: Keys) -> Iterator[Fault]:
    """Keys that would mean two things at the same moment."""
    changing = ["minus", "plus", "minus_coarse", "plus_coarse"]
    moments = {
        "on a page": ["up", "down", "ok", "back", "next_page", "previous_page"],
        "in a time, date or address": ["minus", "plus", "next_part", "previous_part", "ok", "back"],
        "on the on-screen keyboard": ["up", "down", "left", "right", "ok", "back"],
    }
    if keys.edit == "direct":
        moments["on a page"] += changing
    else:
        moments["in an opened value"] = [*changing, "ok", "back"]
    told: set[str] = set()
    for moment, names in moments.items():
        used: dict[str, str] = {}
        for name in names:
            printed = getattr(keys, name)
            if printed and printed in used and name not in told:
                told.add(name)
                yield name, f"{printed!r} is also {used[printed]} {moment}; correct one"
            used.setdefault(printed, name)


def _typed(menu_map: MenuMap) -> bool:
    return any(
        field.settable and isinstance(field.type, Host | Text | Secret) for field in menu_map.fields
    )


def _caps(keyboard: Keyboard) -> Iterator[Fault]:
    caps = Counter(cap for row in keyboard.rows for cap in row)
    for cap, times in caps.items():
        if times > 1:
            yield "rows", f"cap {cap!r} stands {times} times; a cap stands once"
        if cap == " ":
            yield "rows", "a cap is a blank; write SPACE for the space bar"
        elif len(cap) != 1 and cap not in WORDS:
            yield "rows", f"cap {cap!r} is neither one character nor {', '.join(WORDS)}; correct it"
    if "DONE" not in caps:
        yield "rows", "there is no DONE cap; write DONE for the cap that accepts the text"
    if not {"DELETE", "CLEAR"} & set(caps) and not keyboard.opens_empty:
        yield "rows", "no cap takes text away; add DELETE or CLEAR, or opens_empty = true"
    row, column = keyboard.start
    if row >= len(keyboard.rows) or column >= len(keyboard.rows[row]):
        yield "start", f"there is no cap at row {row}, column {column} (counted from 0); correct it"


def _missing_caps(menu_map: MenuMap, keyboard: Keyboard) -> Iterator[Fault]:
    typed = _typeable(keyboard)
    for field in menu_map.fields:
        if not field.settable:
            continue
        wanted = ""
        if isinstance(field.type, Host):
            wanted = HOST_CHARACTERS
        elif isinstance(field.type, Text):
            wanted = field.type.alphabet
        lacking = "".join(char for char in dict.fromkeys(wanted) if char not in typed)
        if lacking:
            yield "rows", f"no cap types {lacking!r}, which {field.id!r} needs; add the caps"


def _typeable(keyboard: Keyboard) -> set[str]:
    caps = {cap for row in keyboard.rows for cap in row}
    typed = {cap for cap in caps if len(cap) == 1}
    if "SPACE" in caps:
        typed.add(" ")
    if "SHIFT" in caps:
        typed |= {cap.swapcase() for cap in typed}
    return typed
