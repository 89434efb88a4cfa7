"""Which settings firmware gave another id, followed over several versions."""

from __future__ import annotations

from collections.abc import Iterator

from asfound.model.menu_map import Field, MenuMap


def former_ids(menu_map: MenuMap, field: Field) -> Iterator[str]:
    """The ids ``field`` had before, newest first."""
    known = {item.id: item for item in menu_map.fields}
    seen = {field.id}
    while field.was is not None and field.was not in seen:
        seen.add(field.was)
        yield field.was
        if field.was not in known:
            return
        field = known[field.was]


def renamed_between(menu_map: MenuMap, old: str, new: str) -> tuple[tuple[str, str], ...]:
    """(old id, new id) of settings whose id changed from firmware ``old`` to ``new``.

    Works in both directions, since firmware is also put back. Raises NotFound for unknown firmware.
    """
    before = {field.id for field in menu_map.fields_in(old) if field.settable}
    after = {field.id for field in menu_map.fields_in(new) if field.settable}
    pairs: list[tuple[str, str]] = []
    for field in menu_map.fields:
        for former in former_ids(menu_map, field):
            for first, second in ((former, field.id), (field.id, former)):
                if first in before - after and second in after - before:
                    pairs.append((first, second))
    return tuple(pairs)
