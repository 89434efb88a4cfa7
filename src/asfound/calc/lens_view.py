"""What a camera sees: field of view, pixels on a thing at a distance, the ground it cannot see.

    field of view = 2 atan(w / 2f)          w sensor [mm], f focal length [mm]
    width seen    = w d / f                 at distance d [m]
    pixels/m      = N / width = N f / (w d) N pixels across
    nearest ground = h / tan(t + v / 2)     h height [m], t tilt below the horizon, v vertical field

Thin lens without distortion, on its axis (optics texts): lenses wider than about 100 degrees do
not follow it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import atan, degrees, inf, radians, tan
from types import MappingProxyType

WIDE_DEG = 100.0
"""Wider lenses bend lines; the formulas then say too much at the edge, too little in the middle."""

CLASSES: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "2014": MappingProxyType(
            {
                "monitor": 12.5,
                "detect": 25.0,
                "observe": 62.5,
                "recognise": 125.0,
                "identify": 250.0,
                "inspect": 1000.0,
            }
        ),
        "2025": MappingProxyType(
            {
                "overview": 20.0,
                "outline": 40.0,
                "discern": 80.0,
                "perceive": 125.0,
                "characterise": 250.0,
                "validate": 500.0,
                "scrutinise": 1500.0,
            }
        ),
    }
)
"""Least pixels a metre [1/m] by use: IEC/EN 62676-4:2014, whose observe is 62.5 from 16 mm a pixel
though 62 is often printed (monitor and recognise read, others from memory), and its revision
(from memory)."""


@dataclass(frozen=True, slots=True)
class Camera:
    """Sensor ``width_mm`` x ``height_mm`` behind a lens of ``focal_mm`` [mm]; ``across`` pixels."""

    width_mm: float
    height_mm: float
    focal_mm: float
    across: int

    @property
    def across_deg(self) -> float:
        """Horizontal field of view [degrees]."""
        return degrees(2 * atan(self.width_mm / (2 * self.focal_mm)))

    @property
    def upright_deg(self) -> float:
        """Vertical field of view [degrees]."""
        return degrees(2 * atan(self.height_mm / (2 * self.focal_mm)))

    def width_at(self, distance_m: float) -> float:
        """Width of what is seen at a distance [m]."""
        return self.width_mm * distance_m / self.focal_mm

    def density_at(self, distance_m: float) -> float:
        """Pixels a metre at a distance [1/m]."""
        return self.across / self.width_at(distance_m)

    def farthest(self, density: float) -> float:
        """How far away there are still so many pixels a metre [m]."""
        return self.across * self.focal_mm / (self.width_mm * density)


@dataclass(frozen=True, slots=True)
class Ground:
    """Level ground from ``near_m`` to ``far_m`` is seen [m] (far: infinite with the horizon in
    view; near: infinite when nothing is)."""

    near_m: float
    far_m: float


def ground_seen(camera: Camera, height_m: float, tilt_deg: float) -> Ground:
    """Level ground before a camera at ``height_m`` [m], tilted ``tilt_deg`` [degrees] downwards
    from the horizon; what lies nearer is not seen."""
    half = camera.upright_deg / 2
    lower, upper = tilt_deg + half, tilt_deg - half
    near = inf if lower <= 0 else 0.0 if lower >= 90 else height_m / tan(radians(lower))
    far = inf if upper <= 0 else height_m / tan(radians(upper)) if upper < 90 else 0.0
    return Ground(near, far)


def focal_for(width_mm: float, field_deg: float) -> float:
    """Focal length [mm] that sees ``field_deg`` [degrees] across a sensor [mm]."""
    return width_mm / (2 * tan(radians(field_deg) / 2))


def good_for(density: float, edition: str) -> str:
    """The highest class of CLASSES that a density [1/m] reaches ("" = none)."""
    reached = [name for name, least in CLASSES[edition].items() if density >= least * (1 - 1e-9)]
    return reached[-1] if reached else ""
