"""Accuracy and cost of `read` beside the raw OCR engine, on the same photographs.

Photographs come from the camera simulator: the tuning set has TUNING_THEMES and seeds below
1,000,000, the test set TEST_THEMES (other fonts, colours, layouts) and seeds from 24,000,000 on,
never used in tuning (those between were looked at while mending: no test any more). The set "two"
is like the test set, with two photographs of each page from different places (seeds from 26,000,000
on); its fields are counted as the whole reading has them. Each field
shown counts once: sure and right, doubt, unread (also when the page could not be told), or a
silent error (sure, but not the truth; also every sure field of a wrongly told page). The raw
engine is rapidocr's own pipeline with its default settings over the whole upright photograph, on
the first sessions of each cell, and so is Tesseract (page segmentation 11, over the photograph
as it is); a value's text counts as found when it stands in any line that
the engine read, spaces and case ignored. CPU seconds are user and system time of the process.

Run: python benchmarks/read.py [size [set:severity ...]]; size 1 is about 2,000 fields of each
severity of the test set; with names only those cells are measured and the others kept.
Writes benchmarks/results/read.json.
"""

from __future__ import annotations

import hashlib
import json
import platform
import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import onnxruntime
import rapidocr

from asfound.demo.conditions import Severity
from asfound.demo.photos import Photo, Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TEST_THEMES, TUNING_THEMES, Theme
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.reading import PhotoReading, Reading, State
from asfound.model.values import shown
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.version import VERSION
from machine import machine
from peers import tesseract_lines

RESULTS = Path(__file__).parent / "results" / "read.json"
THREADS = 2
PAGES = 4
"""Pages photographed in one session: one recorder, one look, one phone."""

SESSIONS: tuple[tuple[str, Severity, int], ...] = (
    ("tuning", "clean", 6),
    ("tuning", "everyday", 6),
    ("tuning", "hard", 6),
    ("test", "clean", 64),
    ("test", "everyday", 66),
    ("test", "hard", 64),
    ("two", "everyday", 64),
    ("two", "hard", 66),
)
"""Sessions at size 1."""

FIRST_SEED = {"tuning": 500, "test": 24_000_000, "two": 26_000_000}

AGAIN = 500_000
"""Added to the seed for the second photograph of each page."""

RAW_SESSIONS = 3
"""Sessions of each cell that the raw engine sees as well."""


@dataclass
class Tally:
    """What became of one cell's fields, and what it cost."""

    fields: Counter[str] = field(default_factory=Counter)
    photos: int = 0
    cpu_s: float = 0.0
    wall_s: float = 0.0
    page_wrong: int = 0
    page_unknown: int = 0
    raw: Counter[str] = field(default_factory=Counter)
    raw_cpu_s: float = 0.0
    beside_cpu_s: float = 0.0
    silent: list[str] = field(default_factory=list)
    kinds: dict[str, Counter[str]] = field(default_factory=dict)
    pairs: list[tuple[float, bool]] = field(default_factory=list)


def cpu_seconds() -> float:
    """User and system time of this process so far."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def themes_and_seed(group: str, number: int) -> tuple[Theme, int]:
    """The look and the seed of a session."""
    themes = TUNING_THEMES if group == "tuning" else TEST_THEMES
    return themes[number % len(themes)], number + FIRST_SEED[group]


def session(
    group: str, severity: Severity, number: int, maps: Sequence[MenuMap], folder: Path
) -> tuple[MenuMap, str, list[Photo]]:
    """Photograph some pages of a recorder with random settings and firmware."""
    theme, seed = themes_and_seed(group, number)
    rng = np.random.default_rng([seed, len(severity)])
    menu_map = maps[(number // len(TUNING_THEMES) + number) % len(maps)]
    firmware = menu_map.firmware[int(rng.integers(len(menu_map.firmware)))]
    values = random_values(menu_map, firmware, rng)
    pages = [page.id for page in menu_map.pages if menu_map.page_fields(page, firmware)]
    chosen = frozenset(str(page) for page in rng.choice(pages, PAGES, replace=False))
    seeds = (seed, seed + AGAIN) if group == "two" else (seed,)
    photos: list[Photo] = []
    for number, one in enumerate(seeds):
        what = Session(theme, severity, one, pages=chosen)
        photos += shoot(menu_map, values, firmware, what, folder / str(number))
    return menu_map, firmware, photos


def count(tally: Tally, menu_map: MenuMap, photo: Photo, got: PhotoReading, name: str) -> None:
    """Hold one photograph's reading against its truth."""
    tally.photos += 1
    if got.page != photo.page_id:
        tally.page_unknown += got.page is None
        tally.page_wrong += got.page is not None
        tally.fields["unread"] += len(photo.truth)
        for one in got.fields:
            if one.state is State.SURE:
                tally.fields["silent"] += 1
                tally.silent.append(f"{name} {one.id}: page is {photo.page_id}")
        return
    found = {one.id: one for one in got.fields}
    for field_id, truth in photo.truth.items():
        seen = found.get(field_id)
        state = "unread" if seen is None else seen.state.value
        if seen is not None and seen.state is State.SURE and seen.value != truth:
            state = "silent"
            tally.silent.append(f"{name} {field_id}: {truth!r} read as {seen.value!r}")
        if seen is not None and seen.confidence is not None:
            tally.pairs.append((seen.confidence, seen.value == truth))
        tally.fields[state] += 1
        kind = menu_map.field(field_id).type.kind
        tally.kinds.setdefault(kind, Counter())[state] += 1


def count_merged(
    tally: Tally, menu_map: MenuMap, photos: Sequence[Photo], reading: Reading, name: str
) -> None:
    """Hold what several photographs of each page add up to against their truth."""
    truth: dict[str, set[str]] = {}
    for photo, got in zip(photos, reading.photos, strict=True):
        tally.photos += 1
        tally.page_unknown += got.page is None
        tally.page_wrong += got.page not in (None, photo.page_id)
        for field_id, value in photo.truth.items():
            truth.setdefault(field_id, set()).add(value)
    for one in reading.fields:
        state = one.state.value
        if one.id not in truth:
            # Of a page that was not photographed: only something sure is wrong.
            if one.state is State.SURE:
                tally.fields["silent"] += 1
                tally.silent.append(f"{name} {one.id}: its page was not photographed")
            continue
        right = one.value in truth[one.id]
        if one.state is State.SURE and not right:
            state = "silent"
            tally.silent.append(f"{name} {one.id}: {truth[one.id]} read as {one.value!r}")
        tally.fields[state] += 1
        kind = menu_map.field(one.id).type.kind
        tally.kinds.setdefault(kind, Counter())[state] += 1


def compact(text: str) -> str:
    """Lower case without spaces."""
    return "".join(text.split()).casefold()


def raw_engine() -> Any:
    """The engine as it comes, with as many threads as ours has."""
    return rapidocr.RapidOCR(
        params={
            "Global.log_level": "critical",
            "EngineConfig.onnxruntime.intra_op_num_threads": THREADS,
            "EngineConfig.onnxruntime.inter_op_num_threads": 1,
        }
    )


def count_raw(tally: Tally, engine: Any, menu_map: MenuMap, photo: Photo) -> None:
    """What the raw engine finds of one photograph's values."""
    before = cpu_seconds()
    pixels = PillowPictures().decode(photo.path.read_bytes(), photo.path.name).pixels
    lines = engine(np.ascontiguousarray(pixels[:, :, ::-1])).txts or ()
    tally.raw_cpu_s += cpu_seconds() - before
    texts = [compact(line) for line in lines]
    others = [compact(line) for line in tesseract_lines(pixels)]
    for field_id, truth in photo.truth.items():
        kind = menu_map.field(field_id).type
        wanted = compact(shown(kind, truth))
        if wanted and not isinstance(kind, Secret):
            tally.raw["values"] += 1
            tally.raw["found"] += any(wanted in text for text in texts)
            tally.raw["tesseract"] += any(wanted in text for text in others)


def measure(group: str, severity: Severity, sessions: int) -> Tally:
    """One cell: all its sessions by `read`, the first ones by the raw engine, too."""
    maps = [load_map(path) for _, path in sorted(shipped_map_paths().items())]
    ocr, engine, tally = RapidOcr(THREADS), raw_engine(), Tally()
    for number in range(sessions):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            menu_map, firmware, photos = session(group, severity, number, maps, folder / "photos")
            request = ReadPages(menu_map, tuple(photo.path for photo in photos), firmware)
            cpu, wall = cpu_seconds(), time.perf_counter()
            reading = read_pages(
                request,
                pictures=PillowPictures(),
                ocr=ocr,
                blobs=FileBlobs(folder / "blobs"),
                clock=SystemClock(),
            )
            used = cpu_seconds() - cpu
            tally.cpu_s += used
            tally.wall_s += time.perf_counter() - wall
            look, seed_name = themes_and_seed(group, number)
            theme = look.name
            if group == "two":
                count_merged(tally, menu_map, photos, reading, f"{theme} {seed_name}")
                continue
            for photo, got in zip(photos, reading.photos, strict=True):
                count(tally, menu_map, photo, got, f"{theme} {photo.path.name}")
            if number < RAW_SESSIONS:
                tally.beside_cpu_s += used
                for photo in photos:
                    count_raw(tally, engine, menu_map, photo)
    return tally


def summary(tally: Tally) -> dict[str, object]:
    """One cell as figures."""
    total = sum(tally.fields.values())
    raw = tally.raw["values"]
    return {
        "photographs": tally.photos,
        "fields": total,
        "sure and right": round(tally.fields["sure"] / total, 4),
        "doubt": round(tally.fields["doubt"] / total, 4),
        "unread": round(tally.fields["unread"] / total, 4),
        "silent errors": tally.fields["silent"],
        "silent errors in 1000 fields": round(1000 * tally.fields["silent"] / total, 2),
        "pages told wrongly": tally.page_wrong,
        "pages not told": tally.page_unknown,
        "cpu_s per photograph": round(tally.cpu_s / tally.photos, 3),
        "wall_s per photograph": round(tally.wall_s / tally.photos, 3),
        "fields per wall second": round(total / tally.wall_s, 2),
        "raw engine": {
            "value texts": raw,
            "found exactly": round(tally.raw["found"] / raw, 4),
            "found exactly by tesseract": round(tally.raw["tesseract"] / raw, 4),
            "cpu_s": round(tally.raw_cpu_s, 2),
            "cpu_s of read on the same photographs": round(tally.beside_cpu_s, 2),
            "cost of read as a share": round(tally.beside_cpu_s / tally.raw_cpu_s, 3),
        }
        if raw
        else None,
        "silent": tally.silent,
        "by field type": {
            kind: {
                "fields": sum(states.values()),
                "sure and right": round(states["sure"] / sum(states.values()), 4),
                "silent": states["silent"],
            }
            for kind, states in sorted(tally.kinds.items())
        },
        "confidence pairs": [[round(chance, 4), right] for chance, right in tally.pairs],
    }


def main() -> None:
    """Measure, print and store."""
    size = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    cv2.setNumThreads(THREADS)
    wanted = sys.argv[2:]
    for group, severity, sessions in SESSIONS:
        if wanted and f"{group}:{severity}" not in wanted:
            continue
        figures = summary(measure(group, severity, max(1, round(size * sessions))))
        print(group, severity, json.dumps(figures, indent=2), flush=True)
        store(size, group, severity, figures)


def store(size: float, group: str, severity: str, figures: dict[str, object]) -> None:
    """Put one cell's figures beside the others."""
    before = json.loads(RESULTS.read_text("utf-8")) if RESULTS.exists() else {}
    cells = before.get("sets", {})
    cells.setdefault(group, {})[severity] = {"size": size, **figures}
    result = {
        "benchmark": "read beside rapidocr's default pipeline over whole photographs",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "machine": {
            **machine(),
            "threads": THREADS,
        },
        "versions": {
            "asfound": VERSION,
            "python": platform.python_version(),
            "rapidocr": version("rapidocr"),
            "onnxruntime": onnxruntime.__version__,
            "opencv": cv2.__version__,
            "this file": hashlib.sha256(Path(__file__).read_bytes()).hexdigest()[:12],
        },
        "sets": cells,
    }
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(result, indent=2, ensure_ascii=False) + "\n", "utf-8")


if __name__ == "__main__":
    main()
