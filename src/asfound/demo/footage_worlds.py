"""Worlds that a vehicle's camera films while the vehicle drives, stands and meets a tunnel.

Each is drawn by rule from a seed, with parts of the vehicle itself in view: bonnet, mirror,
pillar. Luma only (height x width, 8 bit, 16..235). Nothing here is known to the prover.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.footage_scenes import HORIZON, Look, Luma, Parked, Road, Tunnel

WORLDS = ("day", "night", "rain", "tunnel", "parked", "parked-night", "round")
"""``round`` is a working hour in ten minutes: drive, stop, tunnel, rain, drive."""

Grey = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Moment:
    """How it is at one second: seconds of driving so far, tunnel and rain (0 to 1), glare."""

    driven: float
    tunnel: float = 0.0
    rain: float = 0.0
    glare: float = 1.0


class World:
    """One world of WORLDS: ``picture`` is what the lens would see without any fault.

    ``vehicle`` seeds the parts in view, so that two worlds can be filmed from one vehicle.
    """

    def __init__(self, name: str, look: Look, seconds: float, vehicle: int) -> None:
        self._name, self._look, self._seconds = name, look, seconds
        random = np.random.default_rng(look.seed + 17)
        self._night = name in ("night", "parked-night")
        self._parked = Parked(look, 0.4 if self._night else 1.0) if "parked" in name else None
        self._road, self._wet = Road(look), Road(look, rain=True)
        self._tunnel = Tunnel(look)
        self._walls = [_facade(random) for _ in range(2)]
        self._sun = float(random.uniform(0.8, 1.08))
        self._passer = float(random.uniform(0.05, 0.3))
        self._lamps = random.uniform(0, 48, 6)
        self._parts = parts_in_view(look, vehicle)
        self._cone = _cone(look)

    def moment(self, second: float) -> Moment:
        """What the day's plan says of this second."""
        share = second / self._seconds
        if self._name == "tunnel":
            inside = _between(share, 0.35, 0.7, 0.6 / self._seconds)
            after = _between(share, 0.7, 0.7 + 1.2 / self._seconds, 0.3 / self._seconds)
            return Moment(second, inside, 0.0, 1 + 0.6 * after)
        if self._name != "round":
            return Moment(second, 0.0, 1.0 if self._name == "rain" else 0.0)
        stand = min(max(share - 0.2, 0.0), 0.2)
        driven = second - stand * self._seconds
        inside = _between(share, 0.5, 0.65, 1 / self._seconds)
        wet = _between(share, 0.7, 0.9, 10 / self._seconds)
        after = _between(share, 0.65, 0.65 + 1.5 / self._seconds, 0.3 / self._seconds)
        return Moment(driven, inside, wet, 1 + 0.6 * after)

    def picture(self, second: float) -> Luma:
        """The picture at this second, without sensor noise."""
        now = self.moment(second)
        light = (0.3 if self._night else self._sun) * now.glare
        if self._parked is not None:
            out = self._parked.picture(second).astype(np.float32)
            self._pass_by(out, second)
        else:
            out = self._drive(now)
        if now.tunnel > 0:
            dark = self._tunnel.picture(now.driven).astype(np.float32)
            out = out * (1 - now.tunnel) + dark * now.tunnel
        body = 20 + 55 * min(light, 1.2) * (1 - 0.75 * now.tunnel)
        alpha, shade = self._parts
        out = out * (1 - alpha) + alpha * (16 + (body - 16) * shade)
        return np.asarray(np.clip(out, 16, 235), np.uint8)

    def _drive(self, now: Moment) -> Grey:
        road = self._wet if now.rain > 0.5 else self._road
        out = road.picture(now.driven).astype(np.float32)
        self._line_road(out, now.driven)
        if now.rain > 0:
            out = out * (1 - 0.25 * now.rain) + 110 * 0.25 * now.rain
            self._wipe(out, now)
        if self._night:
            out = 16 + (out - 16) * (0.07 + 0.6 * self._cone)
            self._lamps_pass(out, now.driven)
        else:
            out = 16 + (out - 16) * self._sun * now.glare
        return out

    def _line_road(self, out: Grey, driven: float) -> None:
        """House fronts and hedges on both sides, in perspective, coming nearer."""
        look, horizon = self._look, int(self._look.height * HORIZON)
        width, height = look.width, look.height
        offset = (driven * look.speed * 10) % 800
        for side, wall in zip((0, 1), self._walls, strict=True):
            near, far = 400 + 800 - offset, 800 - offset
            source = np.array([[far, 0], [near, 0], [near, 80], [far, 80]], np.float32)
            edge, deep = 0.0, 0.42 * width
            goal = np.array(
                [[deep, 0.33 * height], [edge, 0.02 * height],
                 [edge, 0.72 * height], [deep, horizon + 0.01 * height]], np.float32,
            )  # fmt: skip
            if side:
                goal[:, 0] = width - goal[:, 0]
            turn = cv2.getPerspectiveTransform(source, goal)
            seen = cv2.warpPerspective(wall, turn, (width, height), flags=cv2.INTER_AREA)
            out[seen > 0] = seen[seen > 0]

    def _wipe(self, out: Grey, now: Moment) -> None:
        """A wiper crosses each two seconds."""
        height, width = out.shape
        turn = abs((now.driven % 2.0) - 1.0) * np.pi * 0.8 + 0.1 * np.pi
        foot = (width // 2, int(height * 1.1))
        tip = (int(foot[0] - np.cos(turn) * height), int(foot[1] - np.sin(turn) * height))
        cv2.line(out, foot, tip, 30.0, max(3, width // 90), cv2.LINE_AA)

    def _lamps_pass(self, out: Grey, driven: float) -> None:
        """Street lamps overhead, and now and then headlights of others."""
        height, width = out.shape
        for number, place in enumerate(self._lamps):
            ahead = (place - driven * self._look.speed) % 48 + 3
            size = max(1, int(width / 40 / ahead))
            side = -1 if number % 2 else 1
            x = int(width / 2 + side * width * 0.9 / ahead)
            y = int(height * HORIZON - height * 0.9 / ahead)
            cv2.circle(out, (x, y), size, 235.0, -1, cv2.LINE_AA)
            if number < 2:
                y = int(height * HORIZON + height * 0.25 / ahead)
                cv2.circle(out, (x - side * 5 * size, y), 2 * size, 240.0, -1, cv2.LINE_AA)

    def _pass_by(self, out: Grey, second: float) -> None:
        """Somebody walks across the yard now and then."""
        height, width = out.shape
        x = int((self._passer * second % 1.6) * width)
        top, wide = int(height * 0.45), max(4, width // 36)
        cv2.rectangle(out, (x, top), (x + wide, int(height * 0.75)), 60.0, -1)
        cv2.circle(out, (x + wide // 2, top), wide // 2, 95.0, -1)


def _between(share: float, first: float, last: float, soft: float) -> float:
    """1 between the two, 0 outside, with ramps of length ``soft``."""
    rising = (share - first) / max(soft, 1e-9)
    falling = (last - share) / max(soft, 1e-9)
    return float(np.clip(min(rising, falling), 0, 1))


def _facade(random: np.random.Generator) -> Luma:
    """1600 x 80: fronts with windows, and hedges between."""
    wall = np.zeros((80, 1600), np.uint8)
    at = 0
    while at < 800:
        long = int(random.integers(40, 120))
        base = int(random.integers(60, 170))
        rough = random.normal(base, 9, (80, long)).astype(np.float32)
        block = np.asarray(cv2.GaussianBlur(rough, (0, 0), 1.0), dtype=np.float32)
        if random.random() < 0.6:
            for x in range(6, long - 8, 16):
                for y in range(8, 70, 20):
                    cv2.rectangle(block, (x, y), (x + 7, y + 10), base * 0.45, -1)
        else:
            block = np.asarray(block * random.uniform(0.6, 1.3, (1, long)), np.float32)
            block[: int(random.integers(20, 45))] = 0  # hedges are low: the sky is seen above
        wall[:, at : min(800, at + long)] = np.clip(block, 0, 230)[:, : min(long, 800 - at)]
        at += long
    wall[:, 800:] = wall[:, :800]
    return wall


def _cone(look: Look) -> Grey:
    """How headlights light what is before them, 0 to 1."""
    rows, columns = np.mgrid[0 : look.height, 0 : look.width].astype(np.float32)
    across = (columns / look.width - 0.5) / 0.3
    down = (rows / look.height - 0.72) / 0.24
    return np.asarray(np.exp(-(across**2) - down**2), np.float32)


def parts_in_view(look: Look, vehicle: int) -> tuple[Grey, Grey]:
    """Where the vehicle itself is in view (0 to 1), and its shading (about 1), by its seed."""
    random = np.random.default_rng(vehicle)
    width, height = look.width, look.height
    alpha, shade = np.zeros((height, width), np.float32), np.ones((height, width), np.float32)
    crown = (int(width * random.uniform(0.42, 0.58)), int(height * random.uniform(1.12, 1.2)))
    axes = (int(width * random.uniform(0.42, 0.6)), int(height * random.uniform(0.34, 0.42)))
    cv2.ellipse(alpha, crown, axes, 0, 0, 360, 1.0, -1, cv2.LINE_AA)
    for share in (0.8, 0.93):
        inner = (int(axes[0] * share), int(axes[1] * share))
        cv2.ellipse(shade, crown, inner, 0, 0, 360, 1.9, max(1, width // 320), cv2.LINE_AA)
    left = random.random() < 0.5
    x = int(width * (random.uniform(0.02, 0.1) if left else random.uniform(0.8, 0.88)))
    y = int(height * random.uniform(0.3, 0.45))
    corner = (x + int(width * 0.1), y + int(height * 0.22))
    cv2.rectangle(alpha, (x, y), corner, 1.0, -1)
    cv2.rectangle(shade, (x + 4, y + 4), (corner[0] - 4, corner[1] - 4), 2.2, -1)
    cv2.line(shade, (x + 4, corner[1] - 8), (corner[0] - 4, y + 8), 1.2, max(2, width // 200))
    post = int(width * (0.97 if left else 0.03))
    cv2.line(alpha, (post, 0), (post, height), 1.0, max(4, width // 60), cv2.LINE_AA)
    return alpha, shade
