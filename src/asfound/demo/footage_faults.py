"""Faults of lens, sensor and cable, put into moving worlds at known times, coded by an encoder.

In the order of nature: aim, then what lies on the lens, focus, exposure, sensor noise, and then
the cable, which rolls, tears, blackens or loses the picture, and the recorder, which may hold the
last one; it burns its line in last.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.footage import NO_SIGNAL_COLOUR, Camera, Coding, burn_in, write
from asfound.demo.footage_scenes import Look, Luma, Scene
from asfound.demo.footage_worlds import World

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
MARGIN = 1.3
"""Worlds are drawn so much larger than the picture, so that aim can move over them."""
KINDS = (
    "blurred", "covered", "partly-covered", "dirt", "overexposed", "underexposed", "noisy",
    "rolling", "torn", "moved", "black", "no-signal", "frozen",
)  # fmt: skip
LYING = ("covered", "partly-covered", "dirt")
"""Kinds of what lies on the lens."""

Grey = NDArray[np.float32]

View = Callable[[Look, float, int], Scene]
"""Makes what a camera films: of this look, for so many seconds, from the vehicle with this seed."""


@dataclass(frozen=True, slots=True)
class PictureFault:
    """One of KINDS from ``from_s`` to ``to_s`` (None: to the end), growing over ``ramp_s``.

    ``amount``: blurred, the blur's standard deviation in thousandths of the picture's width;
    covered, luma of what covers; partly-covered, share of the picture; dirt, share of the
    picture; over- and underexposed, the factor on luma; noisy, standard deviation [code values];
    rolling, pictures a second; torn, shift in per cent of the width; moved, shift in per cent of
    the width (``turn``: degrees, ``way``: direction of the shift, degrees).
    """

    kind: str
    from_s: float = 0.0
    to_s: float | None = None
    amount: float = 0.0
    ramp_s: float = 0.0
    turn: float = 0.0
    way: float = 0.0
    seed: int = 0

    def strength(self, second: float) -> float:
        """0 outside the fault, 1 when it is full, between the two while it grows."""
        if second < self.from_s or (self.to_s is not None and second >= self.to_s):
            return 0.0
        return 1.0 if not self.ramp_s else min(1.0, (second - self.from_s) / self.ramp_s)


@dataclass(frozen=True, slots=True)
class Footage:
    """One clip of one camera. ``vehicle`` seeds the parts of the vehicle in view; ``view`` makes
    what is filmed, else it is the world of the name ``world``."""

    seed: int
    world: str
    seconds: float
    faults: Sequence[PictureFault] = ()
    width: int = 640
    height: int = 360
    rate: float = 8
    noise: float = 1.6
    vehicle: int = 1
    coding: Coding = field(default_factory=Coding)
    view: View | None = None


def film_faults(footage: Footage, path: Path) -> Path:
    """Encode the clip to ``path`` (its suffix picks the container)."""
    camera = Camera(
        1, "TEST", footage.world, footage.width, footage.height,
        max(1, round(footage.rate)), coding=footage.coding,
    )  # fmt: skip
    write(path, _planes(footage, camera), camera, START)
    return path


def earlier_picture(footage: Footage, seed: int, world: str, view: View | None = None) -> Luma:
    """An earlier good picture of the same camera: other place, other time, burned-in line."""
    camera = Camera(1, "TEST", world, footage.width, footage.height)
    other = Footage(
        seed, world, 60.0, (), footage.width, footage.height, noise=footage.noise,
        vehicle=footage.vehicle, view=view,
    )  # fmt: skip
    return burn_in(_Lens(other).picture(7.0), camera, START - timedelta(days=30))


def _planes(footage: Footage, camera: Camera) -> Iterator[NDArray[np.uint8]]:
    lens = _Lens(footage)
    grey = np.full((footage.height // 2, footage.width), 128, np.uint8)
    blue = np.repeat(np.array(NO_SIGNAL_COLOUR[1:], np.uint8), grey.size // 2).reshape(grey.shape)
    for number in range(round(footage.seconds * footage.rate)):
        second = number / footage.rate
        luma = burn_in(lens.picture(second), camera, START + timedelta(seconds=second))
        lost = any(f.kind == "no-signal" and f.strength(second) > 0 for f in footage.faults)
        yield np.vstack([luma, blue if lost else grey])


class _Lens:
    """Lens, sensor and cable of one camera."""

    def __init__(self, footage: Footage) -> None:
        self._footage = footage
        large = Look(
            2 * round(footage.width * MARGIN / 2), 2 * round(footage.height * MARGIN / 2),
            footage.seed, noise=footage.noise,
        )  # fmt: skip
        self._size = (footage.width, footage.height)
        self._large = (large.width, large.height)
        self._world: Scene = (
            footage.view(large, footage.seconds, footage.vehicle)
            if footage.view is not None
            else World(footage.world, large, footage.seconds, footage.vehicle)
        )
        self._stuck: Luma | None = None
        self._random = np.random.default_rng(footage.seed + 5)
        night = "night" in footage.world
        self._noise = footage.noise * (2.0 if night else 1.0)
        lying = [fault for fault in footage.faults if fault.kind in LYING]
        self._covers = {fault: _cover(fault, self._size) for fault in lying}

    def picture(self, second: float) -> Luma:
        """The picture as it leaves the cable."""
        active = {
            fault.kind: (fault, strength)
            for fault in self._footage.faults
            if (strength := fault.strength(second)) > 0
        }
        seen = self._aimed(self._world.picture(second), active.get("moved"))
        for kind in LYING:
            if kind in active:
                seen = self._covered(seen, *active[kind])
        if "blurred" in active:
            fault, strength = active["blurred"]
            seen = defocused(seen, strength * fault.amount * self._size[0] / 1000)
        noise = self._noise
        for kind in ("overexposed", "underexposed"):
            if kind in active:
                fault, strength = active[kind]
                factor = np.float32(1 + (fault.amount - 1) * strength)
                seen = np.asarray(16 + (seen - 16) * factor, np.float32)
        if "noisy" in active:
            noise = max(noise, active["noisy"][0].amount)
        grainy = np.clip(seen, 16, 235) + self._random.normal(0, noise, seen.shape)
        luma = np.asarray(np.clip(np.round(grainy), 16, 235), np.uint8)
        return self._cabled(luma, second, active)

    def _aimed(self, large: Luma, moved: tuple[PictureFault, float] | None) -> Grey:
        centre = (self._large[0] / 2, self._large[1] / 2)
        turn = cv2.getRotationMatrix2D(centre, 0 if moved is None else moved[0].turn, 1.0)
        turn[0, 2] -= centre[0] - self._size[0] / 2
        turn[1, 2] -= centre[1] - self._size[1] / 2
        if moved is not None:
            reach = moved[0].amount / 100 * self._size[0]
            turn[0, 2] += reach * np.cos(np.radians(moved[0].way))
            turn[1, 2] += reach * np.sin(np.radians(moved[0].way))
        seen = cv2.warpAffine(large, turn, self._size, borderMode=cv2.BORDER_REFLECT)
        return np.asarray(seen, np.float32)

    def _covered(self, seen: Grey, fault: PictureFault, strength: float) -> Grey:
        """What lies on the lens is far out of focus; a little light comes through."""
        alpha = self._covers[fault] * np.float32(strength)
        light = float(seen.mean())
        shade = fault.amount if fault.kind == "covered" else 0.25 * light + 14
        slope = np.linspace(-6, 6, seen.shape[1], dtype=np.float32)[None, :]
        return np.asarray(seen * (1 - alpha) + alpha * (shade + slope), np.float32)

    def _cabled(
        self, luma: Luma, second: float, active: dict[str, tuple[PictureFault, float]]
    ) -> Luma:
        height, width = luma.shape
        for kind, level in (("black", 16), ("no-signal", NO_SIGNAL_COLOUR[0])):
            if kind in active:
                luma = np.full_like(luma, level)
        if "frozen" in active:
            self._stuck = luma if self._stuck is None else self._stuck
            return self._stuck
        if "rolling" in active:
            fault = active["rolling"][0]
            bar = np.full((max(4, height // 20), width), 18, np.uint8)
            whole = np.vstack([luma, bar])
            at = int((fault.amount * (second - fault.from_s) % 1) * len(whole))
            luma = np.roll(whole, at, axis=0)[:height]
        if "torn" in active:
            fault = active["torn"][0]
            luma = luma.copy()
            for _ in range(2):
                top = int(self._random.integers(height // 8, height * 3 // 4))
                tall = int(self._random.integers(height // 8, height // 3))
                reach = int(fault.amount / 100 * width * self._random.choice([-1, 1]))
                luma[top : top + tall] = np.roll(luma[top : top + tall], reach, axis=1)
        return np.ascontiguousarray(luma)


def defocused(seen: Grey, sigma: float) -> Grey:
    """Out of focus: a disc whose standard deviation along an axis is ``sigma`` pixels.

    A disc of radius r has variance r^2/4 along each axis; it is drawn with soft edges.
    """
    radius = 2 * sigma
    if radius < 0.3:
        return seen
    reach = int(np.ceil(radius)) + 1
    rows, columns = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    disc = np.clip(radius + 0.5 - np.hypot(rows, columns), 0, 1).astype(np.float32)
    return np.asarray(
        cv2.filter2D(seen, -1, disc / disc.sum(), borderType=cv2.BORDER_REFLECT), np.float32
    )


def _cover(fault: PictureFault, size: tuple[int, int]) -> Grey:
    """How much of the scene each pixel loses, 0 to 1."""
    width, height = size
    random = np.random.default_rng(fault.seed)
    if fault.kind == "covered":
        return np.ones((height, width), np.float32)
    mask = np.zeros((height, width), np.float32)
    if fault.kind == "partly-covered":
        way = random.uniform(0, 2 * np.pi)
        rows, columns = np.mgrid[0:height, 0:width].astype(np.float32)
        along = (columns - width / 2) * np.cos(way) + (rows - height / 2) * np.sin(way)
        mask = (along > np.quantile(along, 1 - fault.amount)).astype(np.float32)
        return np.asarray(cv2.GaussianBlur(mask, (0, 0), width / 50), np.float32)
    while mask.mean() < fault.amount:
        place = (int(random.uniform(0, width)), int(random.uniform(0.15, 0.85) * height))
        axes = (int(width * random.uniform(0.05, 0.1)), int(width * random.uniform(0.04, 0.08)))
        cv2.ellipse(mask, place, axes, random.uniform(0, 180), 0, 360, 1.0, -1)
    return np.asarray(cv2.GaussianBlur(mask, (0, 0), width / 90), np.float32) * 0.95
