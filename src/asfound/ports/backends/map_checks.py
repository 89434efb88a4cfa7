"""What a menu map must keep beyond its shape: ids, firmware, defaults and names agree."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from asfound.model.kinds import ReadOnly, Secret
from asfound.model.menu_map import Field, MenuMap, Page
from asfound.model.values import problem
from asfound.ports.backends.map_checks_keys import check_keys
from asfound.ports.backends.map_checks_kinds import kind_faults
from asfound.ports.backends.map_file import MapFile
from asfound.ports.backends.toml_checked import Faults
from asfound.ports.backends.toml_lines import Place

Fault = tuple[Place, str]
"""Place within a field's table, and what is wrong there."""


@dataclass
class Placed:
    """Pages and fields in menu order, each with its place in the file."""

    pages: list[tuple[Page, Place]]
    fields: list[tuple[Field, Place]]


def check_map(menu_map: MenuMap, placed: Placed, map_file: MapFile, faults: Faults) -> None:
    """Add every fault of ``menu_map`` to ``faults``."""
    _check_head(map_file, faults)
    _check_pages(menu_map, placed, faults)
    known = _unique(placed.fields, "field", faults)
    told: set[tuple[Place, str]] = set()
    for field, place in placed.fields:
        for inner, text in _field_faults(menu_map, field, known):
            # What is wrong with a row of each camera is told for the first camera only.
            shape = ((*place, *inner), re.sub(r"[0-9]+", "", text) if field.camera else text)
            if shape not in told:
                told.add(shape)
                faults.add((*place, *inner), text)
    check_keys(menu_map, faults)


def _field_faults(
    menu_map: MenuMap, field: Field, known: dict[str, Page | Field]
) -> Iterator[Fault]:
    yield from _version_faults(menu_map, field)
    yield from _was_faults(menu_map, field, known)
    wrong_kind = False
    for key, text in kind_faults(field):
        wrong_kind = wrong_kind or key in ("minimum", "maximum", "step")
        yield (key,), text
    if not wrong_kind:
        # Defaults can only be held against figures that make sense.
        yield from _default_faults(field)
    if field.camera is not None and field.camera > menu_map.cameras:
        yield ("camera",), f"the map has {menu_map.cameras} cameras; correct one"


def _check_head(map_file: MapFile, faults: Faults) -> None:
    if "{n}" in map_file.id:
        faults.add(("id",), "{n} has no meaning here; remove it")
    for number, version in enumerate(map_file.firmware):
        if version in map_file.firmware[:number]:
            faults.add(("firmware", number), f"{version!r} stands twice; remove one")
    for number, page in enumerate(map_file.page):
        place: Place = ("page", number)
        texts: list[tuple[Place, str]] = [((*place, "id"), page.id)]
        for row, field in enumerate(page.field):
            row_place: Place = (*place, "field", row)
            texts.append(((*row_place, "id"), field.id))
            if page.for_each_camera and field.camera is not None:
                text = "for_each_camera already says which camera; remove this key"
                faults.add((*row_place, "camera"), text)
        for text_place, text in texts:
            if page.for_each_camera and "{n}" not in text:
                faults.add(text_place, "is repeated for each camera; put {n} into the id")
            elif not page.for_each_camera and "{n}" in text:
                faults.add(text_place, "{n} needs for_each_camera = true on the page; add it")


def _check_pages(menu_map: MenuMap, placed: Placed, faults: Faults) -> None:
    _unique(placed.pages, "page", faults)
    seen: list[str] = []
    for page, place in placed.pages:
        if menu_map.keys.layout == "flat":
            if page.group is not None:
                faults.add((*place, "group"), "a flat menu has no groups; remove it")
        elif page.group is None:
            faults.add(place, 'a two-level menu needs the page\'s group; add group = "..."')
        elif page.group in seen[:-1]:
            text = f"pages of {page.group!r} are apart; put the pages of a group together"
            faults.add((*place, "group"), text)
        elif page.group not in seen:
            seen.append(page.group)


def _unique(
    placed: list[tuple[Page, Place]] | list[tuple[Field, Place]], what: str, faults: Faults
) -> dict[str, Page | Field]:
    first: dict[str, tuple[Page | Field, Place]] = {}
    for item, place in placed:
        if item.id in first and first[item.id][1] != place:
            line = faults.line((*first[item.id][1], "id"))
            text = f"{what} id {item.id!r} is already used in line {line}; choose another"
            faults.add((*place, "id"), text)
        first.setdefault(item.id, (item, place))
    return {name: item for name, (item, _) in first.items()}


def _version_faults(menu_map: MenuMap, field: Field) -> Iterator[Fault]:
    known = f"the map knows {', '.join(menu_map.firmware)}; correct it"
    rank = {version: number for number, version in enumerate(menu_map.firmware)}
    for key, version in (("since", field.since), ("until", field.until)):
        if version is not None and version not in rank:
            yield (key,), f"firmware {version!r} is not known; {known}"
    first = rank.get(field.since, 0) if field.since else 0
    last = rank.get(field.until, len(rank)) if field.until else len(rank)
    if first >= last:
        yield ("until",), "is not after since: no firmware has this row; correct one"
    for version, _ in field.defaults:
        if version not in rank:
            yield ("defaults", version), f"firmware is not known; {known}"
        elif not first <= rank[version] < last:
            yield ("defaults", version), f"firmware {version} does not have this row; remove it"


def _was_faults(menu_map: MenuMap, field: Field, known: dict[str, Page | Field]) -> Iterator[Fault]:
    if field.was is None:
        return
    old = known.get(field.was)
    if not isinstance(old, Field):
        yield ("was",), f"there is no field {field.was!r}; describe it with until, or remove this"
        return
    if field.since is None:
        yield ("was",), "a row that replaced another came with some firmware; add since"
        return
    if old.until is None:
        yield ("was",), f"{old.id!r} is still there; give it until = {field.since!r}"
        return
    versions = menu_map.firmware
    known_both = {field.since, old.until} <= set(versions)
    if known_both and versions.index(old.until) > versions.index(field.since):
        yield ("was",), f"{old.id!r} and this row overlap; let its until be {field.since!r}"


def _default_faults(field: Field) -> Iterator[Fault]:
    named: list[tuple[Place, str]] = [(("defaults", key), value) for key, value in field.defaults]
    if field.default is not None:
        named.insert(0, (("default",), field.default))
    for place, value in named:
        if isinstance(field.type, ReadOnly):
            continue
        if text := problem(field.type, value):
            hint = "write set or blank" if isinstance(field.type, Secret) else "correct it"
            yield place, f"{text}; {hint}"
