"""Container scan of many small files beside one ffprobe process a file, and its memory.

The scan is what `asfound coverage` does first: find every recording below a folder and read its
container's facts, nothing decoded, in one process. Beside it runs FFmpeg's ffprobe (Debian
package ffmpeg), started for each file as a script would, asked for format and streams. ffprobe
looks at a sample spread over the files, for which the scan is timed as well; both one after the
other on one core's worth of work, caches warm. Peak memory is that of a process of its own that
scans a tenth of the files, and of one that scans all; "reading alone" keeps nothing of a file.

Run: python benchmarks/scan.py [files]; writes benchmarks/results/scan.json.
"""

from __future__ import annotations

import json
import os
import platform
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import av

from asfound.demo.footage import Camera, Coding, Drive, film
from asfound.jobs.coverage import Cover, cover
from asfound.jobs.find_pieces import FindPieces, find_pieces
from asfound.model.coverage import IgnitionLog, Period
from asfound.ports.backends.video_av import AvVideo
from asfound.version import VERSION
from machine import machine
from peers import cpu_seconds

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
NOW = datetime(2026, 4, 1, tzinfo=UTC)
RESULTS = Path(__file__).parent / "results" / "scan.json"
SAMPLE = 200
FOLDER = 500
FAST = (("preset", "ultrafast"), ("crf", "30"))
CODINGS = {
    "mp4": Coding(options=FAST),
    "mkv": Coding(options=FAST, suffix=".mkv"),
    "ts": Coding(options=FAST, suffix=".ts"),
    "avi": Coding(codec="mpeg4", options=(), bit_rate=500_000, suffix=".avi"),
}


def lay_out(folder: Path, count: int) -> None:
    """``count`` files of 3 s, the kinds in turn, in folders of FOLDER. Hard links of a few
    filmed ones: the time to open one is the same."""
    filmed: list[Path] = []
    for number, (name, coding) in enumerate(CODINGS.items()):
        camera = Camera(number + 1, name, "road", 320, 192, 12, coding=coding)
        filmed += film(Drive(5, START, 3.0, (camera,)), folder / "filmed")
    drive = folder / "drive"
    for number in range(count):
        place = drive / f"{number // FOLDER:03}"
        place.mkdir(parents=True, exist_ok=True)
        source = filmed[number % len(filmed)]
        os.link(source, place / f"cam{number % 4 + 1}_{number:06}{source.suffix}")


def scan(folder: Path) -> int:
    """How many files the whole of `asfound coverage` looks at, against a log of a year of
    driving."""
    count = 0

    def counted(done: int, total: int, what: str) -> None:
        nonlocal count
        count = done

    pieces = find_pieces(FindPieces((folder,), NOW), video=AvVideo(), progress=counted)
    cover(Cover(pieces, IgnitionLog((Period(NOW - timedelta(days=365), NOW),)), NOW))
    return count


def ours(paths: Sequence[Path]) -> dict[str, float]:
    """Seconds of the scan for these paths."""
    cpu, wall = cpu_seconds(), time.perf_counter()
    made = find_pieces(FindPieces(tuple(paths), NOW), video=AvVideo())
    if sum(1 for _ in made) < len(paths):
        raise RuntimeError("files are missing from the scan")
    return {"wall_s": time.perf_counter() - wall, "cpu_s": cpu_seconds() - cpu}


def theirs(program: str, paths: Sequence[Path]) -> dict[str, float]:
    """Seconds of one ffprobe process a file."""
    asked = ["-v", "error", "-show_format", "-show_streams", "-of", "json"]
    cpu, wall = cpu_seconds(), time.perf_counter()
    for path in paths:
        done = subprocess.run([program, *asked, str(path)], capture_output=True, check=True)
        if not json.loads(done.stdout)["streams"]:
            raise RuntimeError(f"{path}: ffprobe names no stream")
    return {"wall_s": time.perf_counter() - wall, "cpu_s": cpu_seconds() - cpu}


def memory_of(folder: Path, what: str = "--scan") -> dict[str, float]:
    """Peak memory and time of a fresh process that scans ``folder``."""
    done = subprocess.run(
        [sys.executable, __file__, what, str(folder)], capture_output=True, check=True
    )
    return dict(json.loads(done.stdout))


def measured(count: int, program: str, folder: Path) -> dict[str, object]:
    """All figures for ``count`` files."""
    lay_out(folder / "all", count)
    lay_out(folder / "tenth", count // 10)
    files = sorted((folder / "all" / "drive").rglob("*.*"))
    sample = files[:: max(1, len(files) // SAMPLE)][:SAMPLE]
    ours(sample)
    theirs(program, sample[:5])
    mine, other = ours(sample), theirs(program, sample)
    tenth, whole = memory_of(folder / "tenth" / "drive"), memory_of(folder / "all" / "drive")
    return {
        "files": count,
        "whole scan": whole,
        "scan of a tenth": tenth,
        "reading alone, all": memory_of(folder / "all" / "drive", "--read"),
        "reading alone, a tenth": memory_of(folder / "tenth" / "drive", "--read"),
        "scan keeps, bytes a file": round(
            (whole["peak_mib"] - tenth["peak_mib"]) * 2**20 / (count - count // 10)
        ),
        "sample": len(sample),
        "scan of the sample": rounded(mine),
        "ffprobe on the sample": rounded(other),
        "ffprobe on all, scaled": {
            name: round(value * count / len(sample), 1) for name, value in other.items()
        },
        "times faster on the sample, wall": round(other["wall_s"] / mine["wall_s"], 1),
        "times faster on the sample, cpu": round(other["cpu_s"] / mine["cpu_s"], 1),
        "times faster on all, wall": round(
            other["wall_s"] * count / len(sample) / whole["wall_s"], 1
        ),
    }


def rounded(figures: dict[str, float]) -> dict[str, float]:
    """To a millisecond."""
    return {name: round(value, 3) for name, value in figures.items()}


def peak_mib() -> float:
    """Most memory this program has held. getrusage's figure would also know what the process
    held before it became this program (proc(5): VmHWM)."""
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def read(folder: Path) -> int:
    """How many files' facts are read, one after the other, and let go."""
    video = AvVideo()
    return sum(1 for path in video.find(folder) if video.facts(path).streams)


def alone(work: Callable[[Path], int], folder: Path) -> None:
    """What the fresh process does."""
    before = peak_mib()
    cpu, wall = cpu_seconds(), time.perf_counter()
    count = work(folder)
    peak = peak_mib()
    figures = {
        "files": count,
        "wall_s": round(time.perf_counter() - wall, 2),
        "cpu_s": round(cpu_seconds() - cpu, 2),
        "started_mib": round(before, 1),
        "peak_mib": round(peak, 1),
    }
    print(json.dumps(figures))


def main() -> None:
    """Measure, print and store."""
    if len(sys.argv) > 2:
        alone({"--scan": scan, "--read": read}[sys.argv[1]], Path(sys.argv[2]))
        return
    program = shutil.which("ffprobe")
    if program is None:
        raise SystemExit("no ffprobe; install the Debian package ffmpeg")
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    version = subprocess.run([program, "-version"], capture_output=True, text=True, check=True)
    with tempfile.TemporaryDirectory() as folder:
        result = {
            "benchmark": "container scan beside one ffprobe process a file",
            "at": datetime.now(UTC).isoformat(timespec="seconds"),
            "machine": machine(),
            "versions": {
                "asfound": VERSION,
                "python": platform.python_version(),
                "pyav": av.__version__,
                "pyav ffmpeg": av.ffmpeg_version_info,
                "ffprobe": version.stdout.splitlines()[0],
            },
            **measured(count, program, Path(folder)),
        }
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(result, indent=2) + "\n")
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
