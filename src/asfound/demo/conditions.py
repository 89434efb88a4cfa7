"""What a photograph is taken under: drawn at random within the bounds of a severity."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

Severity = Literal["clean", "everyday", "hard"]
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Bounds:
    """Spans a severity draws from (uniform), and chances (0..1).

    Angles in degrees; ``defocus`` is a Gaussian sigma and ``shake`` a length, both in
    thousandths of the frame's width; ``noise`` is a sigma in 8 bit levels of the square root
    of light; ``ambient`` and ``reflection`` are light against the screen's white = 1;
    ``crisp`` is the chance that focus and hand are steady, which is when moiré shows;
    ``least_density`` is the fewest photo pixels per pixel of the video signal.
    """

    sizes: tuple[tuple[int, int], ...]
    tilt: Span
    roll: Span
    fill: Span
    defocus: Span
    shake: Span
    exposure: Span
    warmth: Span
    ambient: Span
    reflection: Span
    noise: Span
    vignette: Span
    moire: Span
    bands: Span
    quality: tuple[int, int]
    glare_spots: tuple[int, int]
    glare: Span
    finger: float
    turned: float
    untagged: float
    crisp: float
    no_offset: float
    least_density: float


_MP1_5, _MP2, _MP3 = (1440, 1080), (1632, 1224), (2048, 1536)
_MP5, _MP8, _MP12, _MP8_WIDE = (2592, 1944), (3264, 2448), (4032, 3024), (3840, 2160)

BOUNDS: dict[Severity, Bounds] = {
    "clean": Bounds(
        sizes=(_MP3, _MP5, _MP5, _MP8, _MP8_WIDE, _MP12),
        tilt=(0, 9), roll=(-2, 2), fill=(0.72, 0.9), defocus=(0.08, 0.25), shake=(0, 0.2),
        exposure=(-0.15, 0.25), warmth=(-0.04, 0.06), ambient=(0.05, 0.18),
        reflection=(0.0, 0.012), noise=(0.6, 1.4), vignette=(0.05, 0.18), moire=(0.0, 0.25),
        bands=(0, 0.0), quality=(90, 96), glare_spots=(0, 0), glare=(0, 0), finger=0.0,
        turned=0.2, untagged=0.0, crisp=0.0, no_offset=0.0, least_density=1.1,
    ),
    "everyday": Bounds(
        sizes=(_MP2, _MP3, _MP5, _MP8, _MP8_WIDE, _MP12),
        tilt=(4, 20), roll=(-6, 6), fill=(0.6, 0.88), defocus=(0.1, 0.5), shake=(0.0, 0.9),
        exposure=(-0.5, 0.4), warmth=(-0.12, 0.16), ambient=(0.03, 0.3),
        reflection=(0.008, 0.05), noise=(1.5, 4.0), vignette=(0.1, 0.35), moire=(0.2, 0.7),
        bands=(0, 0.05), quality=(80, 93), glare_spots=(0, 1), glare=(0.06, 0.3), finger=0.0,
        turned=0.35, untagged=0.1, crisp=0.45, no_offset=0.2, least_density=0.9,
    ),
    "hard": Bounds(
        sizes=(_MP1_5, _MP2, _MP3, _MP5, _MP8, _MP12),
        tilt=(14, 35), roll=(-14, 14), fill=(0.5, 0.86), defocus=(0.2, 0.9), shake=(0.4, 2.6),
        exposure=(-1.3, 0.5), warmth=(-0.22, 0.28), ambient=(0.01, 0.45),
        reflection=(0.02, 0.12), noise=(4.0, 9.0), vignette=(0.2, 0.5), moire=(0.4, 1.0),
        bands=(0.06, 0.3), quality=(60, 86), glare_spots=(1, 3), glare=(0.4, 2.0), finger=0.3,
        turned=0.4, untagged=0.3, crisp=0.3, no_offset=0.3, least_density=0.75,
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Conditions:
    """One draw. ``size`` is the sensor's (width, height); ``hold`` says by how many quarter
    turns the scene lies clockwise in the sensor's picture; ``tagged`` whether the EXIF
    orientation says so; ``side`` is the direction the camera is off axis toward (radians)."""

    size: tuple[int, int]
    tilt: float
    side: float
    roll: float
    hold: int
    tagged: bool
    offset_tag: bool
    fill: float
    field_of_view: float
    defocus_px: float
    shake_px: float
    shake_way: float
    exposure: float
    warmth: float
    ambient: float
    reflection: float
    noise: float
    vignette: float
    moire: float
    bands: float
    quality: int
    glare: tuple[float, ...]
    finger: bool


def draw_conditions(
    rng: np.random.Generator,
    severity: Severity,
    signal_width: int,
    size: tuple[int, int] | None = None,
) -> Conditions:
    """Conditions of one photograph of a screen that shows ``signal_width`` pixels across.

    ``size`` forces the sensor's (width, height) in pixels, e.g. (8160, 6120) for 50 MP.
    """
    b = BOUNDS[severity]

    def within(span: Span) -> float:
        return float(rng.uniform(*span))

    frame = size or b.sizes[int(rng.integers(len(b.sizes)))]
    hold = int(rng.integers(1, 4)) if rng.random() < b.turned else 0
    across = frame[0] if hold % 2 == 0 else frame[1]
    needed = b.least_density * signal_width / across
    if needed > 0.92 and size is None:
        frame, hold = (4032, 3024), hold if hold % 2 == 0 else 0
        needed = b.least_density * signal_width / frame[0]
    fill = min(0.93, max(within(b.fill), needed))
    steady = 0.3 if rng.random() < b.crisp else 1.0
    spots = int(rng.integers(b.glare_spots[0], b.glare_spots[1] + 1))
    return Conditions(
        size=frame,
        tilt=within(b.tilt),
        side=float(rng.uniform(0, 2 * np.pi)),
        roll=within(b.roll),
        hold=hold,
        tagged=bool(rng.random() >= b.untagged),
        offset_tag=bool(rng.random() >= b.no_offset),
        fill=fill,
        field_of_view=float(rng.uniform(58, 72)),
        defocus_px=within(b.defocus) * steady * frame[0] / 1000,
        shake_px=within(b.shake) * steady * frame[0] / 1000,
        shake_way=float(rng.uniform(0, np.pi)),
        exposure=within(b.exposure),
        warmth=within(b.warmth),
        ambient=within(b.ambient),
        reflection=within(b.reflection),
        noise=within(b.noise),
        vignette=within(b.vignette),
        moire=within(b.moire),
        bands=within(b.bands),
        quality=int(rng.integers(b.quality[0], b.quality[1] + 1)),
        glare=tuple(within(b.glare) for _ in range(spots)),
        finger=bool(rng.random() < b.finger),
    )
