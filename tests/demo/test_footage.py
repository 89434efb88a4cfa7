"""The footage simulator puts in what it was told to; checked by decoding with PyAV alone."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from pathlib import Path

import av
import numpy as np
import pytest

from asfound.demo.footage import Camera, Drive, Fault, film
from asfound.demo.footage_scenes import SCENES, Look, Sensor, scene

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)


def lumas(path: Path) -> np.ndarray:
    with av.open(str(path)) as container:
        return np.stack([f.to_ndarray(format="gray") for f in container.decode(video=0)])


def make(folder: Path, *faults: Fault, seed: int = 4, scene: str = "road") -> tuple[Path, ...]:
    camera = Camera(3, "SIDE", scene, 320, 192, 10, faults=faults)
    return film(Drive(seed, START, 4, (camera,)), folder)


def test_the_same_seed_films_the_same_and_another_does_not(tmp_path: Path) -> None:
    films = [make(tmp_path / str(number), seed=seed)[0] for number, seed in enumerate((4, 4, 5))]
    one, two, other = (hashlib.sha256(path.read_bytes()).hexdigest() for path in films)
    assert one == two != other


def test_names_carry_channel_and_start(tmp_path: Path) -> None:
    [path] = make(tmp_path)
    assert path.name == "cam3_20260301T080000Z.mp4"
    with av.open(str(path)) as container:
        assert container.metadata["creation_time"].startswith("2026-03-01T08:00:00")


def test_black_is_black_below_the_burned_in_line(tmp_path: Path) -> None:
    film_ = lumas(make(tmp_path, Fault("black", 1, 2))[0])
    assert film_[10:20, 60:].max() <= 18
    assert film_[:10, 60:].max() > 100


def test_a_stuck_picture_stands_while_its_clock_runs(tmp_path: Path) -> None:
    film_ = lumas(make(tmp_path, Fault("frozen", 1, 4))[0]).astype(int)
    change = np.abs(film_[38] - film_[12])
    assert change[60:].mean() < 2.0
    assert change[:30].max() > 60
    assert np.abs(film_[8] - film_[2])[60:].mean() > 4.0


def test_a_gap_is_not_filmed_and_a_zero_file_has_no_bytes(tmp_path: Path) -> None:
    first, second = make(tmp_path / "gap", Fault("gap", 1, 3))
    assert (len(lumas(first)), len(lumas(second))) == (10, 10)
    assert second.name == "cam3_20260301T080003Z.mp4"
    [empty] = make(tmp_path / "zero", Fault("zero"))
    assert empty.stat().st_size == 0


@pytest.mark.parametrize("name", SCENES)
def test_every_scene_fills_the_picture_and_only_parked_ones_stand(name: str) -> None:
    seen = scene(name, Look(320, 192, 9), 20.0)
    one, two = seen.picture(1.0), seen.picture(1.5)
    assert one.shape == (192, 320) and one.dtype == np.uint8
    assert (one != two).any() != name.startswith("parked")


def test_the_sensor_never_gives_the_same_picture_twice() -> None:
    sensor, flat = Sensor(Look(320, 192, 9)), np.full((192, 320), 100, np.uint8)
    one, two = sensor.expose(flat), sensor.expose(flat)
    assert (one != two).mean() > 0.5
    assert float(one.std()) == pytest.approx(1.6, abs=0.3)
