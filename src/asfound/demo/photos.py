"""Photograph a whole menu: one file a page, with the truth beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from asfound.demo.camera import Shot, photograph
from asfound.demo.conditions import Severity
from asfound.demo.pose import project, screen_corners
from asfound.demo.screen import DrawnPage, draw_page
from asfound.demo.themes import Theme
from asfound.model.kinds import Date, FieldType, ReadOnly, Time
from asfound.model.menu_map import MenuMap, Page
from asfound.model.values import shown

Quad = tuple[tuple[float, float], ...]

_START = datetime(2026, 3, 17, 21, 40, 5, tzinfo=UTC)


@dataclass(frozen=True)
class Photo:
    """One photograph file and what is true about it.

    ``truth``: field id -> canonical value of every field shown. ``boxes``: field id -> outline
    of the value's text (4 points, from its top left, clockwise) and ``corners``: the screen's
    outline, both in pixels of the file as stored. ``turns``: quarter turns clockwise that
    the scene lies in the file as stored; ``orientation``: the EXIF tag, None when missing.
    """

    path: Path
    page_id: str
    truth: Mapping[str, str]
    taken: datetime
    turns: int
    orientation: int | None
    corners: Quad
    boxes: Mapping[str, Quad]


@dataclass(frozen=True, slots=True)
class Session:
    """How a menu is photographed. ``start`` is when (aware), ``seconds_apart`` between pages;
    the recorder's clock is ``clock_offset_s`` ahead of the phone's. ``pages``: ids of the
    pages to photograph, None for all. ``size`` forces the photographs' (width, height)."""

    theme: Theme
    severity: Severity = "clean"
    seed: int = 0
    start: datetime = _START
    seconds_apart: float = 11.0
    clock_offset_s: float = 0.0
    pages: frozenset[str] | None = None
    size: tuple[int, int] | None = None


def shoot_menu(
    menu_map: MenuMap,
    values: Mapping[str, str],
    firmware: str,
    theme: Theme,
    severity: Severity,
    seed: int,
    folder: Path,
) -> list[Photo]:
    """Photograph every page that ``firmware`` has; see ``shoot``."""
    return shoot(menu_map, values, firmware, Session(theme, severity, seed), folder)


def shoot(
    menu_map: MenuMap,
    values: Mapping[str, str],
    firmware: str,
    session: Session,
    folder: Path,
) -> list[Photo]:
    """Write one photograph a page to ``folder``, in menu order; the files sort in that order.

    Running values (clock, date and time to set) show the recorder's clock at that moment,
    whatever ``values`` says. Raises KeyError when ``values`` lacks another field, MissingPart
    when a font is missing.
    """
    folder.mkdir(parents=True, exist_ok=True)
    photos = []
    for index, page in enumerate(menu_map.pages):
        fields = menu_map.page_fields(page, firmware)
        if not fields or (session.pages is not None and page.id not in session.pages):
            continue
        taken = session.start + timedelta(seconds=session.seconds_apart * index)
        clock = taken + timedelta(seconds=session.clock_offset_s)
        truth = {
            field.id: _running(field.type, clock, menu_map) if field.volatile else values[field.id]
            for field in fields
        }
        rng = np.random.default_rng([session.seed, index])
        cursor = _cursor(menu_map, page, firmware, rng)
        text = _clock_text(clock, menu_map)
        drawn = draw_page(menu_map, page, truth, firmware, session.theme, cursor, text)
        shot = photograph(
            drawn.pixels, int(rng.integers(2**31)), session.severity, taken, session.size
        )
        path = folder / f"IMG_{taken:%Y%m%d_%H%M%S}_{index + 1:02}.jpg"
        path.write_bytes(shot.jpeg)
        photos.append(_photo(path, page.id, truth, taken, (drawn, shot)))
    return photos


def _photo(
    path: Path,
    page_id: str,
    truth: Mapping[str, str],
    taken: datetime,
    seen: tuple[DrawnPage, Shot],
) -> Photo:
    drawn, shot = seen
    corners, boxes = _quad(shot.corners), _boxes(drawn, shot)
    return Photo(path, page_id, truth, taken, shot.turns, shot.orientation, corners, boxes)


def _boxes(drawn: DrawnPage, shot: Shot) -> dict[str, Quad]:
    """Where each value's text lies in the photograph."""
    size = (drawn.pixels.shape[1], drawn.pixels.shape[0])
    per_pixel = np.array([shot.screen_mm[0] / size[0], shot.screen_mm[1] / size[1]])
    origin = screen_corners(shot.screen_mm)[0]
    boxes = {}
    for row in drawn.rows:
        x0, y0, x1, y1 = row.value_box
        corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
        boxes[row.field_id] = _quad(project(shot.to_photo, corners * per_pixel + origin))
    return boxes


def _quad(points: NDArray[np.float64]) -> Quad:
    return tuple((float(x), float(y)) for x, y in points)


def _cursor(menu_map: MenuMap, page: Page, firmware: str, rng: np.random.Generator) -> int | None:
    """A row that the cursor can stand on: not a read-only one."""
    fields = menu_map.page_fields(page, firmware)
    rows = [index for index, field in enumerate(fields) if not isinstance(field.type, ReadOnly)]
    if menu_map.keys.save == "row":
        rows.append(len(fields))
    return rows[int(rng.integers(len(rows)))] if rows else None


def _clock_text(clock: datetime, menu_map: MenuMap) -> str:
    """The running clock as this recorder writes it: its own date layout, then the time."""
    layouts = [field.type for field in menu_map.fields if isinstance(field.type, Date)]
    day = shown(layouts[0] if layouts else Date(), f"{clock:%Y-%m-%d}")
    return f"{day} {clock:%H:%M:%S}"


def _running(kind: FieldType, clock: datetime, menu_map: MenuMap) -> str:
    match kind:
        case Date():
            return f"{clock:%Y-%m-%d}"
        case Time(seconds=seconds):
            return f"{clock:%H:%M:%S}" if seconds else f"{clock:%H:%M}"
        case _:
            return _clock_text(clock, menu_map)
