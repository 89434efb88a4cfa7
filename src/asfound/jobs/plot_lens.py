"""What a camera sees, drawn to scale from the side and from above.

The side is the upright plane through the lens's axis. From above: where the axis of the lens and
the edges of its field meet level ground, rays through the corners of the sensor turned by the tilt
(pinhole, no distortion, as in calc/lens_view.py).
"""

from __future__ import annotations

from math import cos, isfinite, radians, sin, tan

from asfound.calc.lens_view import CLASSES, Camera
from asfound.jobs.view_lens import ViewLens
from asfound.model.plot import Axis, Layer, Line, Plot, Points, Shape

FARTHEST = 4.0
"""Drawn as far as so many times the distance that was asked about, or the nearest ground [1]."""
PERSON_M = 1.7
"""A person stands where the distance was given [m] (as in the screen-height rule's example)."""
CORNERS = ((-1, -1), (1, -1), (1, 1), (-1, 1))


def reach(request: ViewLens) -> float:
    """How far the drawings go [m]."""
    height = request.height_m or 0.0
    near = request.camera.farthest(CLASSES["2014"]["recognise"])
    asked = request.away_m or 0.0
    return max(asked * 1.3, height * FARTHEST, near if not asked and not height else 0.0, 1.0)


def plot_side(request: ViewLens) -> Plot | None:
    """From the side; None while the height is not known."""
    height = request.height_m
    if height is None:
        return None
    far, half = reach(request), request.camera.upright_deg / 2
    top = max(height * 1.4, PERSON_M * 1.2)
    seen = _side_outline(height, request.tilt_deg, half, far, top)
    layers: list[Layer] = [Line("ground", (0.0, far), (0.0, 0.0))]
    if len(seen) > 2:
        layers.append(Shape("what is seen", tuple(x for x, _ in seen), tuple(y for _, y in seen)))
    blind = _side_blind(seen, height)
    if blind:
        layers.append(Shape("blind area", (0.0, 0.0, blind), (0.0, height, 0.0)))
    if request.away_m is not None and request.away_m <= far:
        at = request.away_m
        layers.append(Line("a person of 1.70 m", (at, at), (0.0, PERSON_M)))
    layers.append(Points("camera", (0.0,), (height,)))
    return Plot(
        "What the camera sees, from the side, to scale",
        Axis("away", "m", low=0.0, high=far),
        Axis("height", "m", low=0.0, high=top),
        tuple(layers),
        equal=True,
    )


def plot_above(request: ViewLens) -> Plot:
    """From above: what is seen of the ground, or at the height of the lens while its height is not
    known; arcs where each class of pixel density ends."""
    far = reach(request)
    outline = _ground_outline(request, far)
    layers: list[Layer] = []
    if len(outline) > 2:
        name = "field of view" if request.height_m is None else "ground that is seen"
        across, up = tuple(x for x, _ in outline), tuple(y for _, y in outline)
        layers.append(Shape(name, across, up))
    half = request.camera.across_deg / 2
    for name, least in CLASSES[request.edition].items():
        deep = request.camera.farthest(least)
        away = _away(request, deep)
        if 0 < away <= far:
            wide = deep * tan(radians(half))
            layers.append(Line(f"{name} ends", (away, away), (-wide, wide)))
    layers.append(Points("camera", (0.0,), (0.0,)))
    side = max((abs(y) for _, y in outline), default=1.0)
    return Plot(
        "What the camera sees, from above, to scale",
        Axis("away", "m", low=0.0, high=far),
        Axis("to the side", "m", low=-side, high=side),
        tuple(layers),
        equal=True,
    )


def _away(request: ViewLens, deep: float) -> float:
    """How far away on the ground a thing is that lies ``deep`` [m] along the lens's axis."""
    tilt = radians(request.tilt_deg)
    if request.height_m is None or cos(tilt) < 1e-9:
        return deep
    return (deep - request.height_m * sin(tilt)) / cos(tilt)


Corner = tuple[float, float]


def _side_outline(height: float, tilt: float, half: float, far: float, top: float) -> list[Corner]:
    """The field of view, cut at the ground, at ``far`` and at ``top`` [m]."""
    down, up = radians(tilt + half), radians(tilt - half)
    length = 4 * (far + top)
    outline: list[Corner] = [
        (0.0, height),
        (length * cos(down), height - length * sin(down)),
        (length * cos(up), height - length * sin(up)),
    ]
    for axis, limit, keep_below in (
        (1, 0.0, False),
        (0, far, True),
        (1, top, True),
        (0, 0.0, False),
    ):
        outline = _cut(outline, axis, limit, keep_below)
    return outline


def _side_blind(seen: list[Corner], height: float) -> float:
    """Ground before the camera that it does not see [m]; 0 where none is seen at all."""
    on_ground = [x for x, y in seen if abs(y) < 1e-9 * max(1.0, height)]
    return min(on_ground, default=0.0)


def _cut(outline: list[Corner], axis: int, limit: float, keep_below: bool) -> list[Corner]:
    """The part of a convex outline on one side of a line (Sutherland and Hodgman, 1974)."""
    kept: list[Corner] = []
    for number, corner in enumerate(outline):
        before = outline[number - 1]
        inside = corner[axis] <= limit if keep_below else corner[axis] >= limit
        was_inside = before[axis] <= limit if keep_below else before[axis] >= limit
        if inside != was_inside:
            part = (limit - before[axis]) / (corner[axis] - before[axis])
            crossing = [before[n] + part * (corner[n] - before[n]) for n in (0, 1)]
            crossing[axis] = limit
            kept.append((crossing[0], crossing[1]))
        if inside:
            kept.append(corner)
    return kept


def _ground_outline(request: ViewLens, far: float) -> list[Corner]:
    camera, height = request.camera, request.height_m
    if height is None:
        wide = far * tan(radians(camera.across_deg / 2))
        return [(0.0, 0.0), (far, -wide), (far, wide)]
    # Rays of the field's edges, cut where they would go above the horizon or beyond ``far``.
    tilt = radians(request.tilt_deg)
    outline: list[Corner] = []
    near_steps = _rows(camera, tilt, height, far)
    for side in (-1, 1):
        rows = near_steps if side < 0 else list(reversed(near_steps))
        for away, scale in rows:
            outline.append((away, side * scale * camera.width_mm / (2 * camera.focal_mm)))
    return outline


def _rows(camera: Camera, tilt: float, height: float, far: float) -> list[Corner]:
    """(away [m], distance along the axis [m]) of the nearest and the farthest row on the ground."""
    half = camera.height_mm / (2 * camera.focal_mm)
    rows = []
    for up in (-half, half):
        # A ray: 1 along the axis, ``up`` across it, turned down by the tilt.
        along, sinks = cos(tilt) + up * sin(tilt), sin(tilt) - up * cos(tilt)
        scale = height / sinks if sinks > 1e-9 else float("inf")
        away = along * scale if isfinite(scale) else float("inf")
        if away > far or not isfinite(away):
            # Where the ground is ``far`` away, a ray hits it whose slope is height / far.
            away, scale = far, far * cos(tilt) + height * sin(tilt)
        rows.append((max(away, 0.0), scale))
    return [] if rows[0][0] >= far and rows[1][0] >= far else rows
