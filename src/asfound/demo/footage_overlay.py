"""Footage with a clock burned into its pictures: where, how and in which layout, by a seed.

Everything drawn here is known, so that what is read from the encoded file can be held against it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from asfound.demo.fonts import font
from asfound.demo.footage import Camera, Coding, write
from asfound.demo.footage_scenes import HORIZON, Look, Luma, Sensor, scene, tint

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
DAYS = ("MON", "TUE", "WED", "THU", "FRI", "SAT", "SUN")
DATES = (
    "{y:04}-{m:02}-{d:02}", "{y:04}/{m:02}/{d:02}", "{y:04}.{m:02}.{d:02}",
    "{d:02}-{m:02}-{y:04}", "{d:02}/{m:02}/{y:04}", "{d:02}.{m:02}.{y:04}",
    "{m:02}/{d:02}/{y:04}", "{m:02}-{d:02}-{y:04}", "{d:02} {b} {y:04}", "{b} {d:02} {y:04}",
    "{d:02}/{m:02}/{y2:02}", "{y2:02}-{m:02}-{d:02}", "{a} {y:04}-{m:02}-{d:02}",
    "{y:04}-{m:02}-{d:02} {a}",
)  # fmt: skip
TIMES = ("{H:02}:{M:02}:{S:02}",) * 4 + ("{I:02}:{M:02}:{S:02} {p}", "{I:02}:{M:02}:{S:02}{p}")
STYLES = ("shadow", "outline", "dark-box", "light-box", "plain")
PLACES = ("top-left", "top-right", "bottom-left", "bottom-right", "top", "bottom")
FONTS = (
    "DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "DejaVuSansMono.ttf", "DejaVuSansMono-Bold.ttf",
    "LiberationSans-Regular.ttf", "LiberationSans-Bold.ttf", "LiberationMono-Regular.ttf",
    "LiberationMono-Bold.ttf", "FreeSans.ttf", "FreeSansBold.ttf", "FreeMonoBold.ttf",
    "terminus-bold.otb", "Hack-Bold.ttf", "unifont.otf",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Burned:
    """How the clock is drawn. ``px`` is the font's size in pixels; ``label`` stands beside it
    or, with ``stacked``, date and time stand on lines of their own."""

    date: str = DATES[0]
    time: str = TIMES[0]
    time_first: bool = False
    stacked: bool = False
    label: str = ""
    place: str = "top-left"
    style: str = "outline"
    font: str = "DejaVuSans.ttf"
    px: int = 18

    def lines(self, at: datetime) -> tuple[str, ...]:
        """The text at this moment."""
        half = at.hour % 12 or 12
        values = {
            "y": at.year, "y2": at.year % 100, "m": at.month, "d": at.day,
            "b": MONTHS[at.month - 1], "a": DAYS[at.weekday()], "H": at.hour, "I": half,
            "M": at.minute, "S": at.second, "p": "PM" if at.hour >= 12 else "AM",
        }  # fmt: skip
        parts = [self.date.format(**values), self.time.format(**values)]
        if self.time_first:
            parts.reverse()
        if self.stacked:
            return (*parts, self.label) if self.label else tuple(parts)
        return ("  ".join([*parts, self.label] if self.label else parts),)


@dataclass(frozen=True, slots=True)
class Ticking:
    """What the clock shows: ``start`` (naive) at the first picture, and how it goes on: "runs",
    "stands" from ``at_s`` on, or "jumps" by ``by_s`` seconds at ``at_s``."""

    start: datetime
    how: str = "runs"
    at_s: float = 0.0
    by_s: float = 0.0

    def shown(self, second: float) -> datetime:
        """The time on the clock; what is drawn of it are whole seconds."""
        if self.how == "stands":
            second = min(second, self.at_s)
        elif self.how == "jumps" and second >= self.at_s:
            second += self.by_s
        return self.start + timedelta(seconds=second)


@dataclass(frozen=True, slots=True)
class Filmed:
    """A clip to film: camera, aware start that the file is stamped with, length, clock."""

    camera: Camera
    start: datetime
    seconds: float
    burned: Burned | None
    ticking: Ticking
    seed: int


def film_clock(clip: Filmed, path: Path) -> Path:
    """Encode the clip; the same clip gives the same pictures."""
    write(path, _pictures(clip), clip.camera, clip.start)
    return path


def random_clip(seed: int, hard: bool = False) -> Filmed:
    """A clip by chance. ``hard``: small writing, strong compression, no outline."""
    random = np.random.default_rng(seed)
    width, height = ((640, 360), (640, 360), (704, 576), (1280, 720))[int(random.integers(4))]
    scenes = ("road", "rain", "dusk", "tunnel", "parked-day", "parked-night", "stopping")
    crf = int(random.integers(34, 42) if hard else random.integers(22, 35))
    coding = Coding(
        options=(("preset", "superfast"), ("crf", str(crf))),
        key_every_s=float(random.choice([1.0, 2.0, 4.0])),
        suffix=str(random.choice([".mp4", ".mkv"])),
    )
    camera = Camera(
        1, "C", str(random.choice(scenes)), width, height, 5,
        noise=float(random.uniform(0.8, 2.6)), coding=coding,
    )  # fmt: skip
    # Readable to a person at a glance: capitals of at least 10 pixels, with an edge of their own.
    share = random.uniform(0.026, 0.034) if hard else random.uniform(0.042, 0.065)
    style = STYLES[int(random.integers(len(STYLES) if hard else len(STYLES) - 1))]
    burned = Burned(
        str(random.choice(DATES)), str(random.choice(TIMES)), bool(random.random() < 0.2),
        bool(random.random() < 0.25), str(random.choice(["", "", "CAM 1", "ROAD", "07 km/h"])),
        str(random.choice(PLACES)), style, str(random.choice(FONTS)),
        max(10 if hard else 14, round(share * height)),
    )  # fmt: skip
    start = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(seconds=int(random.integers(31_000_000)))
    seconds = float(random.choice([14.0, 24.0, 40.0]))
    return Filmed(camera, start, seconds, burned, _ticking(random, start, seconds), seed)


def _ticking(random: np.random.Generator, start: datetime, seconds: float) -> Ticking:
    """Mostly a running clock; right, a little off, hours off or days off."""
    offset = float(
        random.choice(
            [random.uniform(-1, 1), random.uniform(-90, 90), random.uniform(-9e3, 9e3),
             3600.0, -3600.0, random.uniform(-9e6, 9e6)],
            p=[0.25, 0.25, 0.2, 0.1, 0.1, 0.1],
        )
    )  # fmt: skip
    shown = start.replace(tzinfo=None) + timedelta(seconds=offset)
    how = str(random.choice(["runs", "stands", "jumps"], p=[0.8, 0.1, 0.1]))
    at = float(random.uniform(0.0 if how == "stands" else 0.3, 0.3 if how == "stands" else 0.7))
    by = float(random.choice([-3600.0, 3600.0, -20.0, 75.0]))
    return Ticking(shown, how, at * seconds, by)


def without(clip: Filmed) -> Filmed:
    """The same clip with nothing burned in."""
    return replace(clip, burned=None)


def _pictures(clip: Filmed) -> Iterator[NDArray[np.uint8]]:
    camera = clip.camera
    look = Look(camera.width, camera.height, clip.seed, noise=camera.noise)
    seen, sensor = scene(camera.scene, look, clip.seconds), Sensor(look)
    chroma = _chroma(camera)
    for number in range(round(clip.seconds * camera.rate)):
        second = number / camera.rate
        luma = sensor.expose(seen.picture(second))
        if clip.burned is not None:
            luma = burn(luma, clip.burned, clip.ticking.shown(second))
        yield np.vstack([luma, chroma])


def _chroma(camera: Camera) -> NDArray[np.uint8]:
    above, below = tint(camera.scene)
    planes = np.empty((2, camera.height // 2, camera.width // 2), np.uint8)
    edge = round(camera.height * HORIZON / 2)
    for plane in (0, 1):
        planes[plane, :edge], planes[plane, edge:] = above[plane], below[plane]
    return planes.reshape(-1, camera.width)


def burn(luma: Luma, burned: Burned, at: datetime) -> Luma:
    """The picture with the clock in it (height x width, 16..235)."""
    canvas = Image.fromarray(luma)
    draw = ImageDraw.Draw(canvas)
    face = font(burned.font, burned.px)
    edge = max(2, round(burned.px * 0.6))
    lines = burned.lines(at)
    step = round(burned.px * 1.25)
    bottom = burned.place.startswith("bottom")
    top = luma.shape[0] - edge - step * len(lines) if bottom else edge
    for row, text in enumerate(lines):
        wide = draw.textlength(text, font=face)
        left = {"left": edge, "right": luma.shape[1] - edge - wide}.get(
            burned.place.rpartition("-")[2], (luma.shape[1] - wide) / 2
        )
        _write(draw, (round(left), top + row * step), text, face, burned)
    return np.asarray(canvas, np.uint8)


def _write(
    draw: ImageDraw.ImageDraw, place: tuple[int, int], text: str, face: ImageFont.FreeTypeFont,
    burned: Burned,
) -> None:  # fmt: skip
    ink, edge = (20, 225) if burned.style == "light-box" else (232, 18)
    if burned.style.endswith("box"):
        left, top, right, bottom = draw.textbbox(place, text, font=face)
        draw.rectangle((left - 3, top - 3, right + 3, bottom + 3), fill=edge)
    if burned.style == "shadow":
        far = max(1, burned.px // 12)
        draw.text((place[0] + far, place[1] + far), text, font=face, fill=edge)
    if burned.style == "outline":
        far = max(1, burned.px // 14)
        for x in (-far, 0, far):
            for y in (-far, 0, far):
                draw.text((place[0] + x, place[1] + y), text, font=face, fill=edge)
    draw.text(place, text, font=face, fill=ink)
