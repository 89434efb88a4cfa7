"""What a camera with a lens sees, and whether that is enough for what it is there for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf

from asfound.calc.lens_view import CLASSES, WIDE_DEG, Camera, Ground, good_for, ground_seen
from asfound.errors import UsageError
from asfound.units import below_text


@dataclass(frozen=True, slots=True)
class ViewLens:
    """``away_m``: how far away what matters is [m], and what it ``need``s to be good for there, of
    the classes of an ``edition``; ``height_m`` [m] and ``tilt_deg`` [degrees downwards] of the
    camera (None: not known)."""

    camera: Camera
    edition: str = "2014"
    away_m: float | None = None
    need: str = ""
    height_m: float | None = None
    tilt_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Viewed:
    """At ``away_m``: width [m], pixels a metre [1/m] (and as they are ``written``, never as those
    of a class they miss), what they are good for (None: no distance was given); how far each class
    reaches [m]; the ground that is seen; and what is wrong."""

    width_m: float | None
    density: float | None
    written: str
    good: str
    farthest_m: dict[str, float]
    ground: Ground | None
    findings: tuple[str, ...]


def view_lens(request: ViewLens) -> Viewed:
    """The sums. Raises UsageError for classes that there are not."""
    camera, away, need = request.camera, request.away_m, request.need
    if request.edition not in CLASSES:
        raise UsageError(f"no classes of {request.edition}; there are {' and '.join(CLASSES)}")
    classes = CLASSES[request.edition]
    if need and need not in classes:
        raise UsageError(f"no class {need!r}; there are {', '.join(classes)}")
    if need and away is None:
        raise UsageError("how far away that is has to be known; give the distance")
    density = None if away is None else camera.density_at(away)
    findings = []
    written = "" if density is None else _written(density, classes.values())
    if need and away is not None and density is not None and density < classes[need] * (1 - 1e-9):
        findings.append(_too_few(written, away, need, classes))
    if camera.across_deg > WIDE_DEG:
        findings.append(
            f"wider than {WIDE_DEG:.0f} degrees: such lenses bend lines; measure a picture of it"
        )
    height = request.height_m
    return Viewed(
        None if away is None else camera.width_at(away),
        density,
        written,
        "" if density is None else good_for(density, request.edition),
        {name: camera.farthest(least) for name, least in classes.items()},
        None if height is None else ground_seen(camera, height, request.tilt_deg),
        tuple(findings),
    )


def _written(density: float, classes: Iterable[float]) -> str:
    missed = [least for least in classes if density < least * (1 - 1e-9)]
    return below_text(density, min(missed, default=inf), 1)


def _too_few(density: str, away: float, need: str, classes: Mapping[str, float]) -> str:
    return f"{density} pixels a metre at {away:g} m, {need} wants {classes[need]:g}"
