"""What photographs of an unknown recorder show, and the menu map drafted from them.

A draft keeps a page that is repeated for each camera once, as a map's file does: ids, titles
and labels then hold ``{n}``.
"""

from __future__ import annotations

from dataclasses import dataclass

from asfound.model.menu_map import Field, Keys


@dataclass(frozen=True, slots=True)
class Sample:
    """One value as one photograph shows it; ``text`` without marks, "" when nothing is there.

    ``masked``: a row of separate marks. ``bar``: a bar stands beside it. ``lamp``: a lamp or
    tick box stands before it. ``stepped``: marks on both sides show that it can be stepped.
    ``faded``: it is written fainter than its neighbours. ``hidden``: the row is not legible.
    """

    text: str
    masked: bool = False
    bar: bool = False
    lamp: bool = False
    stepped: bool = False
    faded: bool = False
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class ShownRow:
    """A row of a page: its label, how certainly it was read (0..1), and its value."""

    label: str
    score: float
    sample: Sample


@dataclass(frozen=True, slots=True)
class Shot:
    """One photograph of a page: heading, page number and count where shown (else None),
    running clock ("" when not shown), rows from top to bottom. ``batch`` names the set of
    photographs (one vehicle) that it belongs to, ``name`` the file."""

    name: str
    batch: str
    heading: str
    heading_score: float
    number: int | None
    total: int | None
    clock: str
    rows: tuple[ShownRow, ...]


@dataclass(frozen=True, slots=True)
class DraftPage:
    """A page with its fields. ``numbers``: the cameras seen, on a page repeated for each.
    ``drafted``: "title" and "group" may be changed by a later draft. ``seen``: photographs."""

    id: str
    title: str
    fields: tuple[Field, ...]
    group: str | None = None
    for_each_camera: bool = False
    drafted: tuple[str, ...] = ()
    check: str = ""
    seen: int = 0


@dataclass(frozen=True, slots=True)
class Draft:
    """A whole map as a file holds it."""

    id: str
    maker: str
    model: str
    cameras: int
    firmware: tuple[str, ...]
    keys: Keys
    pages: tuple[DraftPage, ...]
