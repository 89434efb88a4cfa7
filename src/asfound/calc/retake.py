"""Why the uncertain values of a photograph could not be read, and how to photograph them better.

Every limit was set on photographs staged with one known fault each (benchmarks/retake.py), on
seeds apart from those that the figures in docs/reading.md come from.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan, degrees, hypot, radians, tan

import numpy as np
from numpy.typing import NDArray

from asfound.calc.row_light import Frame, Light, Row, light_on, rows_of
from asfound.calc.sharpness import Sharpness, pooled, sharpness, smeared
from asfound.model.reading import Box, FieldReading, State
from asfound.model.retake import Cause, Fault

Pixels = NDArray[np.uint8]

GLARE_SHARE, GLARE_LEAST, GLARE_MOST = 0.25, 20.0, 60.0
"""Brighter than the menu's ground by this share of what is left to white, within these bounds
(luma), is glare."""

STAIN_TIMES, STAIN_BLUR = 2.0, 0.2
"""A smear blurs one value: this many times the page's blur, and this much of its height."""

TINT = 14.0
"""Distance of the ground's colour from the page's (Lab a and b) of what is not the screen."""

SHADE = 0.5
"""Share of its brightest rows' ground below which a row is in a dark stripe."""

FAINT = 0.6
"""Share of the page's contrast below which a value is faint."""

SHAKE_TIMES, SHAKE_WIDTH = 1.5, 0.11
"""Edges this many times wider one way than the other, and this wide against the height."""

BLUR = 0.15
"""Width of edges against the height of the outline."""

DARK_CONTRAST, DARK_WHITE = 36.0, 95.0
"""Luma between writing and ground, and of the brightest, below which it is too dark."""

SMALL = 20.0
"""Pixels of the outline's height, letters about two thirds of it."""

OBLIQUE = 38.0
"""Degrees off the screen's middle line, as estimated; twenty or more are no trouble."""

EDGE = 0.3
"""Heights from the picture's edge within which a value may be cut."""

FIELD_OF_VIEW = 65.0
"""Degrees, of the longer side: common of phones' main cameras (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Page:
    """All that is measured on one photograph."""

    size: tuple[int, int]
    frame: Frame
    light: Light
    sharp: tuple[Sharpness | None, ...]
    usual: Sharpness | None
    aside: float
    above: float

    @property
    def glare_limit(self) -> float:
        share = GLARE_SHARE * (255.0 - self.light.usual)
        return float(np.clip(share, GLARE_LEAST, GLARE_MOST))


@dataclass(frozen=True, slots=True)
class _Seen:
    """One cause at one field: how far over its limit (1 = at it), and what to do."""

    cause: Cause
    over: float
    hint: str
    measured: float
    limit: float
    unit: str


def photo_faults(pixels: Pixels, fields: Sequence[FieldReading]) -> tuple[Fault, ...]:
    """Faults that explain the uncertain ``fields`` of one photograph, most fields first.

    ``pixels``: upright photograph (RGB); outlines are in its pixels, fields in menu order. A
    field that nothing explains is in none: to settle it is quicker. Nothing when fewer than two
    outlines are known.
    """
    uncertain = [index for index, field in enumerate(fields) if field.state is not State.SURE]
    boxes = [field.box for field in fields]
    frame = rows_of(boxes) if uncertain else None
    if frame is None:
        return ()
    sharp = tuple(
        sharpness(pixels, field.box) if field.box is not None and _has_writing(field) else None
        for field in fields
    )
    height, width = pixels.shape[:2]
    aside, above = _angles(frame, max(width, height))
    page = _Page(
        (width, height), frame, light_on(pixels, frame), sharp,
        pooled([one for one in sharp if one is not None]), aside, above,
    )  # fmt: skip
    whole = _whole_page(page)
    found: dict[tuple[Cause, str], list[tuple[str, _Seen]]] = {}
    for index in uncertain:
        seen = [one for one in (*_at_field(page, index, fields[index]), *whole) if one is not None]
        if seen:
            worst = max(seen, key=lambda one: one.over)
            found.setdefault((worst.cause, worst.hint), []).append((fields[index].id, worst))
    return tuple(
        _fault(rows) for rows in sorted(found.values(), key=lambda rows: len(rows), reverse=True)
    )


def _has_writing(field: FieldReading) -> bool:
    """Whether signs were recognised there: an empty row has no edges to measure."""
    return bool(field.text.strip() or any(field.candidates))


def _fault(rows: Sequence[tuple[str, _Seen]]) -> Fault:
    worst = max((seen for _, seen in rows), key=lambda seen: seen.over)
    names = tuple(name for name, _ in rows)
    return Fault(worst.cause, worst.hint, names, worst.measured, worst.limit, worst.unit)


def _whole_page(page: _Page) -> list[_Seen | None]:
    usual = page.usual
    tilt = degrees(atan(hypot(tan(radians(page.aside)), tan(radians(page.above)))))
    made: list[_Seen | None] = [
        _over(Cause.OBLIQUE, tilt, OBLIQUE, "degrees", "stand straight before the screen")
    ]
    if usual is None:
        return made
    ratio = smeared(usual)
    widest = max(usual.ways) / usual.height
    if ratio >= SHAKE_TIMES and widest >= SHAKE_WIDTH:
        hint = "hold the phone with both hands and rest your elbows"
        made.append(_Seen(Cause.SHAKE, widest / SHAKE_WIDTH, hint, widest, SHAKE_WIDTH, "heights"))
    else:
        hint = "tap the screen on the phone to focus, wait a second, then take it"
        made.append(_over(Cause.FOCUS, usual.blur, BLUR, "heights", hint))
    white = float(np.nanmedian(page.light.ground[:, -4:])) + usual.contrast
    if white < DARK_WHITE and usual.contrast < DARK_CONTRAST:
        made.append(
            _Seen(
                Cause.DARK,
                DARK_CONTRAST / max(usual.contrast, 1.0),
                "turn the monitor's brightness up, or tap its darkest part on the phone",
                usual.contrast,
                DARK_CONTRAST,
                "luma",
            )
        )
    if usual.height < SMALL:
        hint = "go nearer: the screen should fill the picture"
        made.append(_Seen(Cause.SMALL, SMALL / usual.height, hint, usual.height, SMALL, "pixels"))
    return made


def _over(cause: Cause, measured: float, limit: float, unit: str, hint: str) -> _Seen | None:
    if measured < limit:
        return None
    return _Seen(cause, measured / limit, hint, measured, limit, unit)


def _at_field(page: _Page, index: int, field: FieldReading) -> list[_Seen | None]:
    row, sharp = page.frame.rows[index], page.sharp[index]
    value = _value_pieces(page, index)
    # Where the row was not found, its label may be what is hidden.
    pieces = value if row.found else np.ones_like(value)
    return [
        _cut(page, row, field.box),
        _glare(page, index, pieces),
        _stain(page, sharp),
        _covered(page, index, value, sharp),
        _stripe(page, index, sharp),
    ]


def _value_pieces(page: _Page, index: int) -> NDArray[np.bool_]:
    row, xs = page.frame.rows[index], page.light.xs[index]
    near = (xs >= row.left - row.height) & (xs <= row.right + row.height)
    if not near.any():
        near[int(np.argmin(np.abs(xs - row.x)))] = True
    return np.asarray(near, dtype=np.bool_)


def _glare(page: _Page, index: int, pieces: NDArray[np.bool_]) -> _Seen | None:
    light, limit = page.light, page.glare_limit
    ground = np.where(pieces, light.ground[index], np.nan)
    if np.isnan(ground).all():
        return None
    excess = float(np.nanmax(ground)) - light.usual
    if excess < limit:
        return None
    return _Seen(Cause.GLARE, excess / limit, _away(page, index), excess, limit, "luma")


def _away(page: _Page, index: int) -> str:
    """Which way to move. A flat mirror's spot moves along with who looks (the law of
    reflection), so it leaves the screen soonest where it is nearest to an edge; from far aside
    no further that way."""
    across, down = glare_place(page.frame, page.light, index)
    sideways, upright = across - 0.5, down - 0.5
    if abs(upright) > abs(sideways) + 0.15:
        if upright > 0:
            return "hold the phone lower, out of the lamp's reflection"
        return "hold the phone higher, out of the lamp's reflection"
    right = sideways > 0
    if abs(page.aside) > 20 and (page.aside > 0) == right:
        right = not right
    return f"step to the {'right' if right else 'left'}, out of the lamp's reflection"


def glare_place(frame: Frame, light: Light, index: int) -> tuple[float, float]:
    """Where the light near row ``index`` is, as shares of the page: (0, 0) its top left."""
    bright = np.nan_to_num(np.maximum(light.ground - light.usual, 0.0)) ** 2
    rows = np.arange(len(frame.rows), dtype=np.float64)[:, None]
    weights = bright * np.exp(-(((rows - index) / 2.0) ** 2))
    total = float(weights.sum())
    if total <= 0:
        return 0.5, 0.5
    seen = ~np.isnan(light.ground)
    left, right = float(light.xs[seen].min()), float(light.xs[seen].max())
    across = (float((weights * light.xs).sum()) / total - left) / max(right - left, 1.0)
    down = (float((weights * rows).sum()) / total + 0.5) / len(frame.rows)
    return across, down


def _stain(page: _Page, sharp: Sharpness | None) -> _Seen | None:
    usual = page.usual
    if sharp is None or usual is None:
        return None
    limit = max(STAIN_TIMES * usual.blur, STAIN_BLUR)
    hint = "wipe the screen there"
    if not limit <= sharp.blur < 1.0 or smeared(sharp) > 2.5:
        return None
    # Blur of one value alone is surer than light on it.
    return _Seen(Cause.STAIN, 2 + sharp.blur / limit, hint, sharp.blur, limit, "heights")


def _covered(
    page: _Page, index: int, value: NDArray[np.bool_], sharp: Sharpness | None
) -> _Seen | None:
    """Another colour than the page's, and no glare, which is white."""
    light, usual = page.light, page.usual
    tint, ground = light.tint[index][value], light.ground[index][value]
    known = ~np.isnan(tint).any(axis=1) & (ground < 200)
    if not known.any():
        return None
    # Of most of the value: at its ends the screen may end, too.
    away = float(np.median(_off_colour(tint[known], light.usual_tint)))
    faint = sharp is None or usual is None or sharp.contrast < FAINT * usual.contrast
    if away < TINT or not faint:
        return None
    hint = "keep fingers and cables out of the picture"
    return _Seen(Cause.COVERED, away / TINT, hint, away, TINT, "Lab")


def _off_colour(tint: NDArray[np.float64], usual: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance of colours (n x 2, Lab a and b) from all between the page's own and grey: white
    light on the ground takes its colour out, and gives it no other."""
    to_grey = 128.0 - usual
    length = float(to_grey @ to_grey)
    share = np.clip((tint - usual) @ to_grey / length, 0, 1) if length > 1 else np.zeros(len(tint))
    return np.asarray(np.hypot(*(tint - usual - share[:, None] * to_grey).T))


def _stripe(page: _Page, index: int, sharp: Sharpness | None) -> _Seen | None:
    """A row that is dark from end to end beside rows that are not: the shutter caught the
    backlight between two of its flashes."""
    rows = page.light.ground
    if np.isnan(rows).all(axis=1).any():
        return None
    bright = float(np.percentile(np.nanpercentile(rows, 25, axis=1), 90))
    shade = float(np.nanpercentile(rows[index], 75)) / max(bright, 1.0)
    known = [one.contrast for one in page.sharp if one is not None]
    if sharp is not None and sharp.contrast > FAINT * np.percentile(known, 90):
        return None
    if shade > SHADE:
        return None
    hint = "set the monitor to full brightness, where it flickers least, and take it again"
    # A row that was not found may lie beyond the screen: any other cause goes before.
    over = SHADE / max(shade, 0.05) if sharp is not None else 1.0
    return _Seen(Cause.STRIPES, over, hint, shade, SHADE, "1")


def _cut(page: _Page, row: Row, box: Box | None) -> _Seen | None:
    width, height = page.size
    points = [page.frame.spot(row.x, row.y)] if box is None else list(box)
    room = EDGE * row.height if box is not None else 0.0
    sides = {
        "left": min(x for x, _ in points),
        "top": min(y for _, y in points),
        "right": width - 1 - max(x for x, _ in points),
        "bottom": height - 1 - max(y for _, y in points),
    }
    side = min(sides, key=lambda name: sides[name])
    if sides[side] > room:
        return None
    # Nothing else matters where a value is not on the picture.
    hint = f"take in the whole screen: its {_side_of_menu(page.frame, side)} is cut off"
    return _Seen(Cause.CUT, 9.0, hint, sides[side], room, "pixels")


def _side_of_menu(frame: Frame, side: str) -> str:
    """A side of the photograph as the person before the menu names it."""
    out = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "top": (0.0, -1.0), "bottom": (0.0, 1.0)}
    way = np.array(out[side])
    across, down = float(way @ frame.along), float(way @ frame.down)
    if abs(across) >= abs(down):
        return "right side" if across > 0 else "left side"
    return "lower edge" if down > 0 else "upper edge"


def _angles(frame: Frame, longest: int) -> tuple[float, float]:
    """Degrees that the camera stands right of and below the screen's middle line.

    Rows of a screen seen from aside meet in one point; their slope then changes by tan(angle) /
    focal length for each pixel down. Rows' distance falls off by twice that, seen from above or
    below (pinhole model; Hartley and Zisserman, Multiple View Geometry, 2nd ed. 2004, ch. 8).
    """
    focal = longest / 2 / tan(radians(FIELD_OF_VIEW) / 2)
    known = [(index, row) for index, row in enumerate(frame.rows) if row.found]
    if len(known) < 4:
        return 0.0, 0.0
    index = np.array([number for number, _ in known], dtype=np.float64)
    y = np.array([row.y for _, row in known])
    aside = 0.0
    if np.ptp(y) > 0:
        # Longer values tell their direction better.
        weights = np.array([row.right - row.left for _, row in known])
        slope = np.array([row.own_slope for _, row in known])
        aside = float(np.polyfit(y, slope, 1, w=weights)[0])
    pitch = np.diff(y) / np.diff(index)
    above = 0.0
    if (pitch > 0).all():
        middle = (y[1:] + y[:-1]) / 2
        above = float(np.polyfit(middle, np.log(pitch), 1)[0]) / 2
    return degrees(atan(focal * aside)), degrees(atan(focal * above))
