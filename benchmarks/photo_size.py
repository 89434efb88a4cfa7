"""Memory and CPU time of reading one photograph, by its size and format.

The same scene (everyday severity, one seed, one page) is photographed by the simulator with
sensors from 2 to 50 megapixels; one of the largest is also stored as HEIC, PNG, WebP, AVIF. Each
is read in a process of its own: peak memory is that process's, with the recogniser loaded; CPU
seconds are user and system time of reading alone, after a small picture was read to warm up,
and of decoding alone. Fields: how many of the page's values were sure and right; sure and wrong
must be none.

Run: python benchmarks/photo_size.py
Writes benchmarks/results/photo_size.json.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import platform
import resource
import tempfile
from datetime import UTC, datetime
from importlib.metadata import version
from multiprocessing.connection import Connection
from pathlib import Path

import cv2
import numpy as np
import pillow_heif
from PIL import Image

from asfound.demo.photos import Photo, Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TUNING_THEMES
from asfound.jobs.read_pages import LONGEST_SIDE, ReadPages, read_pages
from asfound.model.reading import Reading, State
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.version import VERSION

RESULTS = Path(__file__).parent / "results" / "photo_size.json"
THREADS = 2
MAP, FIRMWARE, PAGES = "quillfen-octad", "4.0.2", ("camera-3", "network", "shock")
SIZES = {
    2: (1632, 1224), 4: (2304, 1728), 12: (4032, 3024), 24: (5664, 4248), 50: (8160, 6120),
}  # fmt: skip


def cpu_seconds() -> float:
    """User and system time of this process so far."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def peak_mb() -> float:
    """The most memory that this program has held: proc(5), VmHWM. (ru_maxrss would count what the
    parent held when it started this process.)"""
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def photographs(folder: Path, size: tuple[int, int]) -> list[Photo]:
    """The scene, taken with a sensor of ``size``."""
    menu_map = load_map(shipped_map_paths()[MAP])
    values = random_values(menu_map, FIRMWARE, np.random.default_rng(11))
    what = Session(TUNING_THEMES[1], "everyday", 3_500_011, pages=frozenset(PAGES), size=size)
    return shoot(menu_map, values, FIRMWARE, what, folder)


def stored_as(kind: str, photo: Photo, folder: Path) -> Path:
    """The photograph in another format; its EXIF goes with it."""
    path = folder / f"{photo.path.stem}.{kind}"
    with Image.open(photo.path) as image:
        exif = image.getexif().tobytes()
        if kind == "heic":
            fast = {"preset": "ultrafast"}
            pillow_heif.from_pillow(image).save(path, quality=75, exif=exif, enc_params=fast)
        elif kind == "png":
            image.save(path, compress_level=1, exif=exif)
        elif kind == "avif":
            image.save(path, quality=85, exif=exif, speed=10)
        else:
            image.save(path, quality=85, exif=exif, method=0)
    return path


def read_one(path: str, page: str, truth: dict[str, str], pipe: Connection) -> None:
    """Child: read one photograph and tell what it took."""
    cv2.setNumThreads(THREADS)
    menu_map = load_map(shipped_map_paths()[MAP])
    pictures, ocr = PillowPictures(), RapidOcr(THREADS)
    with tempfile.TemporaryDirectory() as folder:

        def reading(file: Path) -> Reading:
            return read_pages(
                ReadPages(menu_map, (file,), FIRMWARE),
                pictures=pictures,
                ocr=ocr,
                blobs=FileBlobs(Path(folder)),
                clock=SystemClock(),
            )

        warm = Path(folder) / "warm.png"
        Image.new("RGB", (640, 480), (40, 40, 40)).save(warm)
        reading(warm)
        loaded = peak_mb()
        before = cpu_seconds()
        read = reading(Path(path))
        used, peak = cpu_seconds() - before, peak_mb()
        before = cpu_seconds()
        pictures.decode(Path(path).read_bytes(), "a", LONGEST_SIDE)
        decoding = cpu_seconds() - before
    found = {field.id: field for field in read.photos[0].fields}
    sure = [one for one in found.values() if one.state is State.SURE and one.id in truth]
    right = sum(one.value == truth[one.id] for one in sure)
    pipe.send(
        {
            "page told": read.photos[0].page == page,
            "fields": len(truth),
            "sure and right": right,
            "sure and wrong": len(sure) - right,
            "cpu_s": used,
            "decoding cpu_s": decoding,
            "peak MB": peak,
            "MB before": loaded,
        }
    )


def measured(files: list[tuple[Path, Photo]]) -> dict[str, object]:
    """Sums over the scene's pages, means of what they cost, the highest peak."""
    context = multiprocessing.get_context("spawn")
    rows = []
    for path, photo in files:
        ours, theirs = context.Pipe(duplex=False)
        arguments = (str(path), photo.page_id, dict(photo.truth), theirs)
        child = context.Process(target=read_one, args=arguments)
        child.start()
        theirs.close()
        rows.append(ours.recv())
        child.join()
    return {
        "file MB": round(sum(path.stat().st_size for path, _ in files) / len(files) / 1e6, 2),
        "pages told": sum(row["page told"] for row in rows),
        "fields": sum(row["fields"] for row in rows),
        "sure and right": sum(row["sure and right"] for row in rows),
        "sure and wrong": sum(row["sure and wrong"] for row in rows),
        "cpu_s per photograph": round(sum(row["cpu_s"] for row in rows) / len(rows), 2),
        "of that decoding": round(sum(row["decoding cpu_s"] for row in rows) / len(rows), 2),
        "peak MB": round(max(row["peak MB"] for row in rows)),
        "MB before the photograph": round(max(row["MB before"] for row in rows)),
    }


def main() -> None:
    """Measure, print and store."""
    cells: dict[str, dict[str, object]] = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for megapixels, size in SIZES.items():
            photos = photographs(folder / str(megapixels), size)
            cells[f"{megapixels} MP jpeg"] = measured([(photo.path, photo) for photo in photos])
            print(f"{megapixels} MP jpeg", cells[f"{megapixels} MP jpeg"], flush=True)
        for kind in ("heic", "png", "webp", "avif"):
            # One page is enough: encoding takes far longer than reading.
            files = [(stored_as(kind, photo, folder), photo) for photo in photos[:1]]
            cells[f"50 MP {kind}"] = measured(files)
            print(f"50 MP {kind}", cells[f"50 MP {kind}"], flush=True)
    result = {
        "benchmark": "memory and CPU time of reading one photograph by its size",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "machine": {"cores": os.cpu_count(), "threads": THREADS, "system": platform.platform()},
        "versions": {
            "asfound": VERSION,
            "python": platform.python_version(),
            "pillow": version("pillow"),
            "pillow-heif": version("pillow-heif"),
            "opencv": cv2.__version__,
        },
        "longest side read [pixels]": LONGEST_SIDE,
        "cells": cells,
    }
    RESULTS.write_text(json.dumps(result, indent=2) + "\n", "utf-8")


if __name__ == "__main__":
    main()
