"""A clip of the monitor beside one photograph of each page: everyday severity, the same values.

Each session is one recorder with random settings and a look that the reader was not tuned on.
Its pages are filmed by the simulator (1920 x 1080, 10 pictures a second, 2 s a page, H.264, a
hand that wanders) and photographed once each (the simulator's own mix of sensors, 2 to 12
megapixels). Fields are counted after all of a session's photographs or frames were added up.

Run: python benchmarks/clip.py [sessions]
Writes benchmarks/results/clip.json.
"""

from __future__ import annotations

import json
import os
import platform
import sys
import tempfile
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import cv2
import numpy as np

from asfound.demo.clip import Filming, film
from asfound.demo.photos import Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TEST_THEMES
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.model.menu_map import MenuMap
from asfound.model.reading import Reading, State
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.video_av import AvVideo
from asfound.version import VERSION
from peers import cpu_seconds

RESULTS = Path(__file__).parent / "results" / "clip.json"
THREADS = 2
PAGES = 4
FIRST_SEED = 3_200_000


@dataclass
class Tally:
    """What became of the fields, and what it cost."""

    fields: Counter[str] = field(default_factory=Counter)
    pages_lost: int = 0
    pictures: int = 0
    cpu_s: float = 0.0
    silent: list[str] = field(default_factory=list)


def count(tally: Tally, reading: Reading, truth: Mapping[str, str], pages: set[str]) -> None:
    """Hold a session's added-up reading against its truth."""
    found = {one.id: one for one in reading.fields}
    tally.pages_lost += len(pages & set(reading.missing_pages))
    for name, value in truth.items():
        one = found[name]
        if one.state is not State.SURE:
            tally.fields[one.state.value] += 1
        elif one.value == value:
            tally.fields["sure"] += 1
        else:
            tally.fields["silent"] += 1
            tally.silent.append(f"{name}: {value!r} read as {one.value!r}")


def read(
    tally: Tally, menu_map: MenuMap, files: list[Path], ocr: RapidOcr, folder: Path
) -> Reading:
    """Read one session's files and note the cost."""
    before = cpu_seconds()
    reading = read_pages(
        ReadPages(menu_map, tuple(files), menu_map.firmware[-1]),
        pictures=PillowPictures(),
        ocr=ocr,
        blobs=FileBlobs(folder / "blobs"),
        clock=SystemClock(),
        video=AvVideo(),
    )
    tally.cpu_s += cpu_seconds() - before
    tally.pictures += len(reading.photos)
    return reading


def session(number: int, ocr: RapidOcr, clips: Tally, photos: Tally) -> None:
    """Film and photograph one recorder."""
    maps = [load_map(path) for _, path in sorted(shipped_map_paths().items())]
    menu_map, seed = maps[number % len(maps)], FIRST_SEED + number
    theme = TEST_THEMES[number % len(TEST_THEMES)]
    rng = np.random.default_rng(seed)
    firmware = menu_map.firmware[-1]
    values = random_values(menu_map, firmware, rng)
    # Running values show another time in each frame; pages with them are left to photographs.
    still = [
        page.id
        for page in menu_map.pages
        if (fields := menu_map.page_fields(page, firmware)) and not any(f.volatile for f in fields)
    ]
    pages = tuple(str(page) for page in rng.choice(still, PAGES, replace=False))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        how = Filming(theme, "everyday", seed)
        clip = film(menu_map, values, firmware, pages, how, folder / "VID_1.mp4")
        truth = {key: value for page in clip.truth.values() for key, value in page.items()}
        count(clips, read(clips, menu_map, [clip.path], ocr, folder), truth, set(pages))
        what = Session(theme, "everyday", seed, pages=frozenset(pages))
        shots = shoot(menu_map, values, firmware, what, folder / "photos")
        files = [shot.path for shot in shots]
        count(photos, read(photos, menu_map, files, ocr, folder), truth, set(pages))


def figures(tally: Tally, sessions: int) -> dict[str, object]:
    """One way of taking pictures as figures."""
    total = sum(tally.fields.values())
    return {
        "fields": total,
        "sure and right": round(tally.fields["sure"] / total, 4),
        "doubt": round(tally.fields["doubt"] / total, 4),
        "unread": round(tally.fields["unread"] / total, 4),
        "silent errors": tally.fields["silent"],
        "pages lost": tally.pages_lost,
        "pictures read per page": round(tally.pictures / (sessions * PAGES), 2),
        "cpu_s per page": round(tally.cpu_s / (sessions * PAGES), 2),
        "silent": tally.silent,
    }


def main() -> None:
    """Measure, print and store."""
    sessions = int(sys.argv[1]) if len(sys.argv) > 1 else 8
    cv2.setNumThreads(THREADS)
    ocr, clips, photos = RapidOcr(THREADS), Tally(), Tally()
    for number in range(sessions):
        session(number, ocr, clips, photos)
        print(number, dict(clips.fields), dict(photos.fields), flush=True)
    result = {
        "benchmark": "a clip beside one photograph of each page, everyday severity",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "machine": {"cores": os.cpu_count(), "threads": THREADS, "system": platform.platform()},
        "versions": {"asfound": VERSION, "python": platform.python_version()},
        "sessions": sessions,
        "clip": figures(clips, sessions),
        "one photograph of each page": figures(photos, sessions),
    }
    RESULTS.write_text(json.dumps(result, indent=2, ensure_ascii=False) + "\n", "utf-8")
    print(json.dumps(result, indent=2, ensure_ascii=False))


if __name__ == "__main__":
    main()
