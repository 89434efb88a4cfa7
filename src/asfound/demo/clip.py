"""A short phone clip of the monitor while somebody leafs through the menu's pages."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from asfound.demo.camera import lit_scene
from asfound.demo.conditions import Conditions, Severity, draw_conditions
from asfound.demo.light import Pixels
from asfound.demo.monitor import draw_monitor
from asfound.demo.pose import take_aim
from asfound.demo.screen import draw_page
from asfound.demo.sensor import develop
from asfound.demo.themes import Theme
from asfound.model.menu_map import MenuMap

_START = datetime(2026, 3, 17, 21, 40, 5, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Filming:
    """How it is filmed: ``size`` (width, height) of the video, ``rate`` pictures a second, each
    page shown for ``page_s`` seconds; ``sway_degrees`` is how far the hand wanders about its
    place, and every few pictures it jerks. ``start`` (aware) goes into the container."""

    theme: Theme
    severity: Severity = "everyday"
    seed: int = 0
    size: tuple[int, int] = (1920, 1080)
    rate: int = 10
    page_s: float = 2.0
    sway_degrees: float = 1.2
    start: datetime | None = _START


@dataclass(frozen=True, slots=True)
class Clip:
    """A clip file and what is true about it: page ids in their order, and the values of each
    page's fields (field id -> canonical value)."""

    path: Path
    pages: tuple[str, ...]
    truth: Mapping[str, Mapping[str, str]]


def film(
    menu_map: MenuMap, values: Mapping[str, str], firmware: str, pages: tuple[str, ...],
    filming: Filming, path: Path,
) -> Clip:  # fmt: skip
    """Write an H.264 MP4 to ``path`` (folder must exist). Raises KeyError for missing values."""
    truth = {}
    screens = []
    for page_id in pages:
        page = menu_map.page(page_id)
        shown = {field.id: values[field.id] for field in menu_map.page_fields(page, firmware)}
        drawn = draw_page(menu_map, page, shown, firmware, filming.theme, None, "")
        truth[page_id] = shown
        screens.append(drawn.pixels)
    _encode(path, filming, _pictures(screens, filming))
    return Clip(path, pages, truth)


def _pictures(screens: list[Pixels], filming: Filming) -> Iterator[Pixels]:
    """The video's pictures: one phone, monitor and place all along, a hand that wanders."""
    rng = np.random.default_rng([filming.seed, 77])
    signal = (screens[0].shape[1], screens[0].shape[0])
    conditions = draw_conditions(rng, filming.severity, signal[0], filming.size)
    monitor = draw_monitor(rng, signal)
    count = max(1, round(filming.page_s * filming.rate))
    sway = _wander(rng, count * len(screens)) * filming.sway_degrees
    for number in range(count * len(screens)):
        held = _held(conditions, sway[number], rng)
        # The place aimed at and what is mirrored in the glass stay as they are.
        aim = take_aim(held, monitor.screen_mm, np.random.default_rng([filming.seed, 78]))
        still = np.random.default_rng([filming.seed, 79])
        yield develop(rng, lit_scene(still, screens[number // count], held, monitor, aim))


def _wander(rng: np.random.Generator, count: int) -> NDArray[np.float64]:
    """Smooth random paths (count, 3), each within about -1 to 1."""
    steps = rng.standard_normal((count + 24, 3))
    window = np.hanning(15) / np.hanning(15).sum()
    smooth = np.stack([np.convolve(steps[:, i], window, "same") for i in range(3)], axis=1)
    return smooth[12 : 12 + count] * 2.0


def _held(
    conditions: Conditions, sway: NDArray[np.float64], rng: np.random.Generator
) -> Conditions:
    """The phone a little elsewhere; now and then a jerk blurs the picture."""
    jerk = 3.0 if rng.random() < 0.2 else float(rng.uniform(0.3, 1.0))
    return replace(
        conditions,
        hold=0,
        tilt=max(0.0, conditions.tilt + float(sway[0])),
        roll=conditions.roll + float(sway[1]),
        fill=float(np.clip(conditions.fill + 0.01 * sway[2], 0.4, 0.93)),
        shake_px=conditions.shake_px * jerk,
    )


def _encode(path: Path, filming: Filming, pictures: Iterator[Pixels]) -> None:
    """H.264 as phones write it: 4:2:0, about 0.1 bit a pixel."""
    with av.open(str(path), "w") as container:
        if filming.start is not None:
            stamp = filming.start.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
            container.metadata["creation_time"] = stamp
        stream = container.add_stream("libx264", rate=Fraction(filming.rate))
        stream.width, stream.height = filming.size
        stream.pix_fmt = "yuv420p"
        stream.options = {"preset": "veryfast", "crf": "26"}
        for pixels in pictures:
            for packet in stream.encode(av.VideoFrame.from_ndarray(pixels, format="rgb24")):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
