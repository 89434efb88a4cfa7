"""Stuck pictures, and parked vehicles and tunnels that are not stuck, for benchmarks/prove.py.

Scenes of both simulators (asfound.demo.footage_scenes and footage_worlds), the codings of prove.py.
In one case of three the source is compressed before it reaches the recorder: the stuck picture is
a still that was coded and decoded (JPEG) before it is coded again, and a live camera's pictures
are coded each by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.footage import Camera, Coding, burn_in, write
from asfound.demo.footage_scenes import SCENES, Look, Luma, Scene, Sensor, scene, tint
from asfound.demo.footage_worlds import WORLDS, World
from asfound.model.finding import Kind
from prove_kinds import no_trace
from prove_scores import Case

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
SECONDS, RATE = 16.0, 12
STANDING = ("parked-day", "parked-night", "tunnel", "stopping", "world parked",
            "world parked-night", "world tunnel")  # fmt: skip
"""What is easily taken for stuck."""
PLACES = (*SCENES, *(f"world {name}" for name in WORLDS if name != "round"))
JPEG = (60, 91)
"""Qualities of a source that is compressed before it is recorded."""


def stuck_case(seed: int, folder: Path, codings: Sequence[Coding]) -> Case:
    """Even seeds: stuck for 3 to 6 s. Odd seeds: nothing wrong, a place that is easily taken
    for stuck."""
    random = np.random.default_rng(seed)
    stuck = seed % 2 == 0
    places = PLACES if stuck else STANDING
    place = places[int(random.integers(len(places)))]
    first = float(random.uniform(2, 8))
    span = (first, first + float(random.uniform(3, 6))) if stuck else None
    coding = codings[int(random.integers(len(codings)))]
    quality = int(random.integers(*JPEG)) if random.random() < 1 / 3 else 0
    clock = bool(random.integers(2))
    camera = Camera(
        1, "TEST", place, 640, 360, RATE, noise=float(random.uniform(0.8, 2.6)), coding=coding
    )
    path = folder / str(seed) / f"cam1_{START:%Y%m%dT%H%M%SZ}{coding.suffix}"
    path.parent.mkdir(parents=True, exist_ok=True)
    write(path, _pictures(seed, camera, span, quality, clock), camera, START)
    truth = [] if span is None else [(Kind.FROZEN, *span)]
    trace = no_trace(path, place.removeprefix("world "), SECONDS, truth)
    return Case(path, truth, trace, f"{place}{' coded before' if quality else ''}")


def _pictures(
    seed: int, camera: Camera, span: tuple[float, float] | None, quality: int, clock: bool
) -> Iterator[NDArray[np.uint8]]:
    look = Look(camera.width, camera.height, seed * 101 + 1, noise=camera.noise)
    seen: Scene
    if camera.scene.startswith("world "):
        seen = World(camera.scene.removeprefix("world "), look, SECONDS, seed % 97)
    else:
        seen = scene(camera.scene, look, SECONDS)
    sensor = Sensor(look)
    held: tuple[Luma, float] | None = None
    above, below = tint(camera.scene)
    chroma = np.empty((2, camera.height // 2, camera.width // 2), np.uint8)
    edge = round(camera.height * 0.42 / 2)
    for plane in (0, 1):
        chroma[plane, :edge], chroma[plane, edge:] = above[plane], below[plane]
    for number in range(round(SECONDS * RATE)):
        second = number / RATE
        luma, shown = sensor.expose(seen.picture(second)), second
        if span is not None and span[0] <= second < span[1]:
            held = held or (_coded(luma, quality), second)
            luma, shown = held[0], second if clock else held[1]
        elif quality and span is None:
            luma = _coded(luma, quality)
        line = burn_in(luma, camera, START + timedelta(seconds=shown))
        yield np.vstack([line, chroma.reshape(-1, camera.width)])


def _coded(luma: Luma, quality: int) -> Luma:
    """The picture after it was coded by itself and decoded; as it is without a quality."""
    if not quality:
        return luma
    done, data = cv2.imencode(".jpg", luma, [cv2.IMWRITE_JPEG_QUALITY, quality])
    if not done:
        raise ValueError(f"no JPEG of quality {quality}")
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE), np.uint8)
