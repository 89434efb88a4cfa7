"""Scenes that a camera on a vehicle might see, drawn by rule from a seed.

Luma pictures only (height x width, 8 bit, 16..235); each scene has one flat hue above
and one below the horizon. Nothing here is known to the prover.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import cv2
import numpy as np
from numpy.typing import NDArray

Luma = NDArray[np.uint8]

HORIZON = 0.42
"""Share of the picture height above the horizon."""


@dataclass(frozen=True, slots=True)
class Look:
    """Picture size [px], seed, speed [m/s] and sensor noise [code values]."""

    width: int
    height: int
    seed: int
    speed: float = 14.0
    noise: float = 1.6


class Scene(Protocol):
    """Something to film."""

    def picture(self, second: float) -> Luma:
        """The picture at this second, without sensor noise."""
        ...


class Sensor:
    """Adds noise: random cut-outs of one large noise field, as cheap as one addition."""

    def __init__(self, look: Look) -> None:
        self._random = np.random.default_rng(look.seed + 7)
        self._size = (look.height, look.width)
        field = self._random.normal(0, look.noise, (look.height + 97, look.width + 97))
        self._field = np.round(field).astype(np.int8)

    def expose(self, luma: Luma) -> Luma:
        """The picture as the sensor gives it."""
        top, left = self._random.integers(0, 97, 2)
        height, width = self._size
        noise = self._field[top : top + height, left : left + width]
        return np.asarray(cv2.add(luma, noise, dtype=cv2.CV_8U), np.uint8)


def _texture(random: np.random.Generator, height: int, width: int, grain: float) -> Luma:
    rough = random.normal(0, 1, (height, width)).astype(np.float32)
    soft = cv2.GaussianBlur(rough, (0, 0), grain)
    grey = soft * np.float32(14 / max(1e-6, float(soft.std()))) + 80
    return np.asarray(np.clip(grey, 17, 234), np.uint8)


class Road:
    """A road seen from the cab: a textured plane that comes nearer, kerb posts, other vehicles.

    ``light`` scales everything; ``rain`` adds streaks.
    """

    def __init__(self, look: Look, light: float = 1.0, rain: bool = False) -> None:
        self._look, self._light, self._rain = look, light, rain
        random = np.random.default_rng(look.seed)
        self._ground = _texture(random, 1200, 160, 2.0)
        cv2.rectangle(self._ground, (10, 0), (14, 1199), 200, -1)
        cv2.rectangle(self._ground, (146, 0), (150, 1199), 200, -1)
        for top in range(0, 1200, 60):
            cv2.rectangle(self._ground, (78, top), (82, top + 24), 215, -1)
        self._horizon = int(look.height * HORIZON)
        sky = np.linspace(200, 165, self._horizon, dtype=np.float32)[:, None]
        clouds = _texture(random, self._horizon, look.width, 14.0).astype(np.float32) - 80
        self._sky = np.clip(sky + 0.5 * clouds, 17, 234).astype(np.uint8)
        ridge = _texture(random, 1, look.width, 12.0)[0].astype(np.int32) - 80
        for x, rise in enumerate(ridge):
            self._sky[self._horizon - look.height // 14 - int(rise * look.height / 500) :, x] = 92
        self._traffic = random.uniform(0, 60, 5)
        self._sides = random.choice([-1.0, 1.0], 5)
        self._streaks = random.uniform(0, 1, (40, 3))

    def picture(self, second: float) -> Luma:
        """The road at this second."""
        look = self._look
        out = np.empty((look.height, look.width), np.uint8)
        out[: self._horizon] = self._sky
        out[self._horizon :] = self._plane(second * look.speed)
        self._posts(out, second)
        if self._rain:
            self._streak(out, second)
        if self._light != 1.0:
            out = np.asarray(cv2.convertScaleAbs(out, alpha=self._light, beta=8), np.uint8)
        return out

    def _plane(self, metres: float) -> Luma:
        """The ground: 1 m of road is 10 rows of texture, 20 m are seen."""
        width, height = self._look.width, self._look.height - self._horizon
        offset = (metres * 10) % 600
        near, far = 600 - offset + 400, 600 - offset + 200
        source = np.array([[0, far], [160, far], [160, near], [0, near]], np.float32)
        goal = np.array(
            [[width * 0.38, 0], [width * 0.62, 0], [width * 1.5, height], [-width * 0.5, height]],
            np.float32,
        )
        turn = cv2.getPerspectiveTransform(source, goal)
        flat = cv2.warpPerspective(self._ground, turn, (width, height), borderValue=70)
        return np.asarray(flat, np.uint8)

    def _posts(self, out: Luma, second: float) -> None:
        width, height = self._look.width, self._look.height
        for place, side in zip(self._traffic, self._sides, strict=True):
            ahead = (place - second * self._look.speed) % 60 + 2
            size = 260 / ahead
            x = width / 2 + side * width * 1.6 / ahead
            y = self._horizon + height * 0.9 / ahead
            corner = (int(x - size / 4), int(y - size))
            cv2.rectangle(out, corner, (int(x + size / 4), int(y)), int(40 + place * 2.5), -1)

    def _streak(self, out: Luma, second: float) -> None:
        height, width = out.shape
        for x, y, speed in self._streaks:
            top = int(((y + second * (1.5 + speed)) % 1) * height)
            cv2.line(out, (int(x * width), top), (int(x * width) - 3, top + 18), 205, 1)


class Tunnel:
    """A dark tunnel: lamps pass overhead, headlights light the road a little."""

    def __init__(self, look: Look) -> None:
        self._look = look
        random = np.random.default_rng(look.seed)
        base = np.full((look.height, look.width), 20, np.float32)
        rows, columns = np.mgrid[0 : look.height, 0 : look.width]
        away = np.hypot(
            (columns - look.width / 2) / look.width, (rows - look.height * 0.85) / look.height
        )
        base += 14 * np.exp(-((away / 0.22) ** 2))
        base += (_texture(random, look.height, look.width, 3.0).astype(np.float32) - 80) * 0.05
        self._base = np.clip(base, 17, 60).astype(np.uint8)

    def picture(self, second: float) -> Luma:
        """The tunnel at this second: a lamp every 12 m on both sides."""
        out = self._base.copy()
        look = self._look
        for number in range(4):
            ahead = (number * 12 - second * look.speed) % 48 + 3
            size = max(1, int(24 / ahead))
            y = int(look.height * 0.45 - look.height * 0.9 / ahead)
            for side in (-1, 1):
                x = int(look.width / 2 + side * look.width * 0.7 / ahead)
                cv2.rectangle(out, (x - 2 * size, y - size), (x + 2 * size, y + size), 205, -1)
        return out


class Parked:
    """A yard seen from a parked vehicle: nothing moves. ``light`` below 0.5 is night."""

    def __init__(self, look: Look, light: float = 1.0) -> None:
        random = np.random.default_rng(look.seed)
        yard = _texture(random, look.height, look.width, 2.5).astype(np.float32)
        for _ in range(24):
            x, y = random.integers(0, look.width), random.integers(0, look.height)
            w, h = random.integers(12, look.width // 5), random.integers(10, look.height // 4)
            yard[y : y + h, x : x + w] *= random.uniform(0.5, 1.6)
        yard *= light
        lamp = [int(side * random.uniform(0.3, 0.7)) for side in (look.width, look.height)]
        cv2.circle(yard, lamp, max(2, look.height // 40), 225.0, -1)
        self._yard = np.clip(yard + 6, 17, 234).astype(np.uint8)

    def picture(self, second: float) -> Luma:
        """The same yard at any second."""
        return self._yard


class Stopping:
    """A road that the vehicle drives along, brakes on and stands on from ``stop_s`` on."""

    def __init__(self, look: Look, stop_s: float) -> None:
        self._road, self._stop = Road(look), stop_s

    def picture(self, second: float) -> Luma:
        """The road; the last 4 seconds before the stop are braking at an even rate."""
        start = self._stop - 4
        if second <= start:
            return self._road.picture(second)
        braking = min(second - start, 4.0)
        return self._road.picture(start + braking - braking**2 / 8)


SCENES = ("road", "rain", "dusk", "tunnel", "parked-day", "parked-night", "stopping")


def scene(name: str, look: Look, seconds: float) -> Scene:
    """The scene of this name (one of SCENES)."""
    if name == "tunnel":
        return Tunnel(look)
    if name.startswith("parked"):
        return Parked(look, 1.0 if name == "parked-day" else 0.45)
    if name == "stopping":
        return Stopping(look, seconds * 0.4)
    return Road(look, 0.45 if name == "dusk" else 1.0, rain=name == "rain")


ROAD_TINT = ((138, 122), (121, 131))
TINTS = {
    "tunnel": ((128, 130), (126, 134)),
    "parked-night": ((126, 132), (126, 132)),
    "parked-day": ((124, 129), (124, 129)),
}


def tint(name: str) -> tuple[tuple[int, int], tuple[int, int]]:
    """Flat chroma (Cb, Cr) of a scene above and below the horizon."""
    return TINTS.get(name, ROAD_TINT)
