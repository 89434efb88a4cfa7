"""How often retake advice names the fault that was put into the photograph.

Photographs are staged with one strong fault each (staged.py), on looks and seeds that no limit was
set on, and read by the reader as it is. Of the values left uncertain: how many get a cause, and is
it the true one? A value that the same photograph without the fault leaves uncertain, too, is not
counted: no photograph settles it. Of photographs that show no page: is the cause the true one?

Run: python benchmarks/retake.py [size]; size 1 is 12 photographs of each fault. Writes
benchmarks/results/retake.json.
"""

from __future__ import annotations

import json
import platform
import sys
import tempfile
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from asfound.demo.themes import TEST_THEMES
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.jobs.retakes import retakes
from asfound.model.menu_map import MenuMap
from asfound.model.reading import Reading, State
from asfound.model.retake import Cause
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.version import VERSION
from staged import SIZE, Staged, stage, write

RESULTS = Path(__file__).parent / "results" / "retake.json"
FIRST_SEED = 5_000_000
SHOTS = 12
THREADS = 2

TRUE: Mapping[str, frozenset[Cause]] = {
    "glare": frozenset({Cause.GLARE}),
    "defocus": frozenset({Cause.FOCUS, Cause.BLURRED}),
    "shake": frozenset({Cause.SHAKE, Cause.BLURRED}),
    "dark": frozenset({Cause.DARK}),
    "small": frozenset({Cause.SMALL}),
    "oblique": frozenset({Cause.OBLIQUE}),
    "stripes": frozenset({Cause.STRIPES}),
    "none": frozenset(),
}
"""What is right to say of each fault."""


@dataclass
class Tally:
    """Uncertain values and pages of one fault's photographs."""

    values: Counter[str] = field(default_factory=Counter)
    pages: Counter[str] = field(default_factory=Counter)
    advised: int = 0
    photographs: int = 0
    said: Counter[str] = field(default_factory=Counter)


def drawn(fault: str, number: int) -> dict[str, Any]:
    """A fault's strength: strong enough that some values are lost."""
    rng = np.random.default_rng([FIRST_SEED, number, len(fault)])
    px = SIZE[0] / 1000
    spots = int(rng.integers(2, 4))
    faults: dict[str, dict[str, Any]] = {
        "none": {},
        "glare": {"glare": tuple(rng.uniform(2, 5, spots).tolist()), "reflection": 0.03},
        "defocus": {"defocus_px": rng.uniform(1.8, 3.2) * px},
        "shake": {"shake_px": rng.uniform(6, 12) * px, "shake_way": rng.uniform(0, np.pi)},
        "dark": {"exposure": -rng.uniform(4.5, 6.5), "noise": rng.uniform(8, 13)},
        "small": {"fill": rng.uniform(0.14, 0.26)},
        "oblique": {"tilt": rng.uniform(58, 70)},
        "stripes": {"bands": rng.uniform(0.95, 0.995), "noise": rng.uniform(5, 8)},
    }
    return faults[fault]


def read(shot: Staged, menu_map: MenuMap, ocr: RapidOcr) -> Reading:
    """The photograph as `asfound read` reads it."""
    with tempfile.TemporaryDirectory() as name:
        path = write(shot, Path(name) / "photo.jpg")
        return read_pages(
            ReadPages(menu_map, (path,), menu_map.firmware[-1]),
            pictures=PillowPictures(),
            ocr=ocr,
            blobs=FileBlobs(Path(name) / "blobs"),
            clock=SystemClock(),
        )


def uncertain(reading: Reading) -> set[str]:
    """Fields of the photograph that are not sure."""
    return {one.id for one in reading.photos[0].fields if one.state is not State.SURE}


def count(tally: Tally, fault: str, reading: Reading, menu_map: MenuMap, spared: set[str]) -> None:
    """Hold one photograph's advice against what was put into it."""
    photo, right = reading.photos[0], TRUE[fault]
    tally.photographs += 1
    tally.advised += bool(retakes(reading, menu_map))
    said = {name: one.cause for one in photo.faults for name in one.fields}
    if photo.page is None:
        cause = photo.faults[0].cause if photo.faults else None
        verdict = "silent" if cause is None else "right" if cause in right else "wrong"
        tally.pages[verdict] += 1
        tally.said[f"page: {cause.value if cause else 'nothing'}"] += 1
        return
    for name in uncertain(reading) - spared:
        cause = said.get(name)
        verdict = "silent" if cause is None else "right" if cause in right else "wrong"
        tally.values[verdict] += 1
        tally.said[cause.value if cause else "nothing"] += 1


def main() -> None:
    """Measure, print and store."""
    size = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    cv2.setNumThreads(THREADS)
    maps = [load_map(path) for _, path in sorted(shipped_map_paths().items())]
    ocr = RapidOcr(THREADS)
    tallies = {fault: Tally() for fault in TRUE}
    for number in range(max(1, round(size * SHOTS))):
        menu_map = maps[number % len(maps)]
        firmware = menu_map.firmware[-1]
        pages = [one for one in menu_map.pages if len(menu_map.page_fields(one, firmware)) >= 5]
        page = pages[(number * 5 + 1) % len(pages)].id
        theme = TEST_THEMES[number % len(TEST_THEMES)]
        spared: set[str] = set()
        for fault in ("none", *(name for name in TRUE if name != "none")):
            shot = stage(menu_map, page, theme, FIRST_SEED + number, drawn(fault, number))
            reading = read(shot, menu_map, ocr)
            count(tallies[fault], fault, reading, menu_map, spared)
            if fault == "none":
                spared = uncertain(reading)
    figures = {fault: summary(tally) for fault, tally in tallies.items()}
    print(json.dumps(figures, indent=2))
    result = {
        "benchmark": "cause named for values that one staged fault made uncertain",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "versions": {"asfound": VERSION, "python": platform.python_version()},
        "size": size,
        "faults": figures,
    }
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(result, indent=2) + "\n", "utf-8")


def summary(tally: Tally) -> dict[str, object]:
    """One fault as figures."""
    return {
        "photographs": tally.photographs,
        "advised to take again": tally.advised,
        "uncertain values": dict(tally.values),
        "pages not told": dict(tally.pages),
        "said": dict(tally.said),
    }


if __name__ == "__main__":
    main()
