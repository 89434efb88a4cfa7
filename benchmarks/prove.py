"""Cost and accuracy of `prove` beside FFmpeg's blackdetect and freezedetect, on the same files.

Both look at every file in one run, one after the other, on one core each; CPU seconds are user
and system time of the whole process, children included. Footage is filmed by the simulator:
tuning seeds are below 1,000,000, test seeds from 4,179,000 on (those between were looked at while
mending). Stuck pictures, and what is easily taken for them, come from benchmarks/prove_stuck.py as
well, so that there are enough of them. A finding counts as right when its kind fits and it
overlaps the fault by half of both; FFmpeg has no filter for one colour: its freezedetect finds are
counted under "frozen" where black or one colour explain them as well. A picture that is stuck while
the vehicle stands, with fewer than two key pictures in the fault, leaves no trace in a file whose
other pictures repeat the key picture: such faults are counted apart ("no trace"), and "f1 with
them" counts them as missed.
Gaps, damage, sizes and rates: benchmarks/prove_kinds.py.

The last parts measure the ratio of CPU seconds on files as a drive holds them: 1280x720 at 25
pictures a second with a key picture each 2 s, DRIVE_SECONDS or LONG_SECONDS long (a third as many
of these), scenes and codings by weight, one file in five with a fault.

Run: python benchmarks/prove.py [drives per seed range] [files of the drive]; writes
benchmarks/results/prove.json. With "tuning", "test", "stuck", "files", "drive" or "long" as first
argument only that part is measured anew, with its own date; a number after it is that of its
drives or files.
"""

from __future__ import annotations

import hashlib
import json
import platform
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np

from asfound.demo.footage import Camera, Coding, Drive, Fault, film
from asfound.jobs.prove import Prove, prove
from asfound.model.finding import Kind
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.pictures import ClipFrame, Picture, Pixels
from asfound.version import VERSION
from machine import machine
from prove_kinds import file_case, no_trace, score_files
from prove_scores import Case, Run, Spans, rightly, score
from prove_stuck import stuck_case

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
SECONDS = 16.0
KINDS = (Kind.BLACK, Kind.NO_SIGNAL, Kind.FROZEN)
RESULTS = Path(__file__).parent / "results" / "prove.json"
SCENES = ("road", "rain", "dusk", "tunnel", "parked-day", "parked-night", "stopping")
CODINGS = (
    Coding(),
    Coding(options=(("preset", "veryfast"), ("crf", "33")), key_every_s=2),
    Coding(options=(("preset", "superfast"), ("qp", "36")), key_every_s=4, suffix=".mkv"),
    Coding(
        options=(
            ("preset", "superfast"),
            ("nal-hrd", "cbr"),
            ("maxrate", "600k"),
            ("bufsize", "600k"),
        ),
        bit_rate=600_000,
        key_every_s=2,
        suffix=".ts",
    ),
    Coding(codec="mpeg4", options=(), bit_rate=700_000, suffix=".avi"),
)

DRIVE_SECONDS, LONG_SECONDS = 30.0, 120.0
DRIVE_SEED, LONG_SEED = 4_590_000, 4_595_000
DRIVE_FAULTY = 0.2
FILMING = 4
"""Processes that film; nothing is measured meanwhile."""
DRIVE_SCENES = {
    "road": 0.35, "dusk": 0.15, "rain": 0.1, "tunnel": 0.05, "stopping": 0.1,
    "parked-day": 0.15, "parked-night": 0.1,
}  # fmt: skip
DRIVE_CODINGS = (
    Coding(options=(("preset", "veryfast"), ("crf", "27")), key_every_s=2),
    Coding(options=(("preset", "superfast"), ("crf", "32")), key_every_s=2, suffix=".mkv"),
    Coding(
        options=(
            ("preset", "superfast"),
            ("nal-hrd", "cbr"),
            ("maxrate", "2000k"),
            ("bufsize", "2000k"),
        ),
        bit_rate=2_000_000,
        key_every_s=2,
        suffix=".ts",
    ),
)


class NoPictures:
    """No pictures are kept, so that both programs do the same work."""

    def decode(self, data: bytes, name: str, longest: int | None = None) -> Picture:
        """Never called."""
        raise AssertionError(name)

    def encode_jpeg(
        self, pixels: Pixels, quality: int = 85, frame: ClipFrame | None = None
    ) -> bytes:
        """Never called."""
        raise AssertionError


def cases(seeds: range, folder: Path) -> list[Case]:
    """One drive of two cameras a seed; scene, coding and fault by chance, half without fault."""
    made = []
    for seed in seeds:
        random = np.random.default_rng(seed)
        for channel in (1, 2):
            kind = KINDS[int(random.integers(3))] if random.random() < 0.5 else None
            first = float(random.uniform(2, 8))
            last = first + float(random.uniform(3, 6))
            clock = bool(random.integers(2))
            faults = () if kind is None else (Fault(kind.value, first, last, clock),)
            camera = Camera(
                channel,
                "TEST",
                SCENES[int(random.integers(len(SCENES)))],
                noise=float(random.uniform(0.8, 2.6)),
                faults=faults,
                coding=CODINGS[int(random.integers(len(CODINGS)))],
            )
            [path] = film(Drive(seed, START, SECONDS, (camera,)), folder / str(seed))
            truth = [] if kind is None else [(kind, first, last)]
            made.append(Case(path, truth, no_trace(path, camera.scene, SECONDS, truth)))
    return made


def drive_case(seed: int, folder: Path, faulty: bool, seconds: float = DRIVE_SECONDS) -> Case:
    """One file as a drive holds them."""
    random = np.random.default_rng(seed)
    kind = KINDS[int(random.integers(3))] if faulty else None
    first = float(random.uniform(4, 12))
    last = first + float(random.uniform(5, 14))
    scenes, weights = list(DRIVE_SCENES), list(DRIVE_SCENES.values())
    camera = Camera(
        1,
        "TEST",
        scenes[int(random.choice(len(scenes), p=weights))],
        1280,
        720,
        25,
        noise=float(random.uniform(0.8, 2.6)),
        faults=() if kind is None else (Fault(kind.value, first, last),),
        coding=DRIVE_CODINGS[int(random.integers(len(DRIVE_CODINGS)))],
    )
    [path] = film(Drive(seed, START, seconds, (camera,)), folder / str(seed))
    truth = [] if kind is None else [(kind, first, last)]
    return Case(path, truth, no_trace(path, camera.scene, seconds, truth))


def cpu_seconds() -> float:
    """User and system time of this process and its finished children."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(item.ru_utime + item.ru_stime for item in used)


def timed(look: Callable[[Path], tuple[Spans, Spans]], made: Sequence[Case]) -> Run:
    """Run ``look`` on every case."""
    cpu, wall = cpu_seconds(), time.perf_counter()
    results = [look(case.path) for case in made]
    return Run(
        [found for found, _ in results],
        [unclear for _, unclear in results],
        cpu_seconds() - cpu,
        time.perf_counter() - wall,
    )


def ours(path: Path) -> tuple[Spans, Spans]:
    """What `prove` finds, and the spans that it calls unclear."""
    [recording] = prove(Prove((path,)), video=AvVideo(), pictures=NoPictures()).recordings
    found = [(f.kind, f.start_s, f.end_s) for f in recording.findings]
    unclear = []
    for line in recording.unclear:
        span = re.match(r"([\d.]+) to ([\d.]+) s: (.*)", line)
        if span:
            kind = (
                Kind.FROZEN
                if "still" in span[3]
                else Kind.BLACK
                if "dark" in span[3]
                else Kind.NO_SIGNAL
            )
            unclear.append((kind, float(span[1]), float(span[2])))
    return found, unclear


def theirs(path: Path) -> tuple[Spans, Spans]:
    """What FFmpeg's filters find with their default options."""
    command = [
        imageio_ffmpeg.get_ffmpeg_exe(), "-hide_banner", "-nostats", "-threads", "1",
        "-i", str(path), "-vf", "blackdetect,freezedetect", "-an", "-f", "null", "-",
    ]  # fmt: skip
    said = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    found: Spans = [
        (Kind.BLACK, float(start), float(end))
        for start, end in re.findall(r"black_start:([\d.]+) black_end:([\d.]+)", said)
    ]
    starts = [float(item) for item in re.findall(r"freeze_start: ([\d.]+)", said)]
    ends = [float(item) for item in re.findall(r"freeze_end: ([\d.]+)", said)]
    # A standstill that lasts to the end of the file has no end.
    length = re.search(r"Duration: (\d+):(\d+):([\d.]+)", said)
    hours, minutes, seconds = map(float, length.groups()) if length else (0.0, 0.0, SECONDS)
    ends += [3600 * hours + 60 * minutes + seconds] * (len(starts) - len(ends))
    found += [(Kind.FROZEN, start, end) for start, end in zip(starts, ends, strict=True)]
    return found, []


def measure(seeds: range) -> dict[str, object]:
    """Both programs on the footage of ``seeds``."""
    with tempfile.TemporaryDirectory() as folder:
        made = cases(seeds, Path(folder))
        return {"seeds": [seeds.start, seeds.stop - 1], **compared(made, KINDS)}


def stuck(seeds: range) -> dict[str, object]:
    """Both programs on stuck pictures and on what is easily taken for them, as many of each."""
    with tempfile.TemporaryDirectory() as folder:
        film_one = partial(stuck_case, folder=Path(folder), codings=CODINGS)
        with ProcessPoolExecutor(FILMING) as pool:
            made = list(pool.map(film_one, seeds))
        return {
            "seeds": [seeds.start, seeds.stop - 1],
            "stuck": sum(bool(case.truth) for case in made),
            "parked, stopped and in tunnels": sum(not case.truth for case in made),
            **compared(made, (Kind.FROZEN,)),
        }


def compared(made: Sequence[Case], kinds: Sequence[Kind]) -> dict[str, object]:
    """What both programs found in the files, and at what cost."""
    print(f"{len(made)} files filmed", flush=True)
    runs = {"asfound": timed(ours, made), "ffmpeg filters": timed(theirs, made)}
    minutes = len(made) * SECONDS / 60
    return {
        "files": len(made),
        "minutes of footage": round(minutes, 2),
        "programs": {
            name: {
                "cpu_s": round(run.cpu_s, 2),
                "wall_s": round(run.wall_s, 2),
                "cpu_s per minute of footage": round(run.cpu_s / minutes, 3),
                "kinds": {kind.value: score(made, run, kind) for kind in kinds},
            }
            for name, run in runs.items()
        },
    }


def kinds(seeds: range) -> dict[str, object]:
    """Gaps, damage, sizes and rates."""
    with tempfile.TemporaryDirectory() as folder:
        made = [file_case(seed, Path(folder), CODINGS, SCENES) for seed in seeds]
        print(f"seeds {seeds.start} to {seeds.stop - 1}: {len(made)} channels filmed", flush=True)
        scored = score_files(made, AvVideo(), NoPictures())
    return {"seeds": [seeds.start, seeds.stop - 1], **scored}


def drive(files: int, seconds: float, first: int) -> dict[str, object]:
    """The ratio of CPU seconds, and what each found, on files as a drive holds them."""
    parts: dict[str, dict[str, object]] = {}
    total = {"asfound": 0.0, "ffmpeg filters": 0.0}
    faults = round(files * DRIVE_FAULTY)
    with tempfile.TemporaryDirectory() as folder:
        for name, numbers in (("faulty", range(faults)), ("good", range(faults, files))):
            film_one = partial(
                drive_case, folder=Path(folder), faulty=name == "faulty", seconds=seconds
            )
            with ProcessPoolExecutor(FILMING) as pool:
                made = list(pool.map(film_one, (first + number for number in numbers)))
            print(f"drive: {len(made)} {name} files filmed", flush=True)
            runs = {"asfound": timed(ours, made), "ffmpeg filters": timed(theirs, made)}
            for program, run in runs.items():
                total[program] += run.cpu_s
            right = [rightly(made, run) for run in runs.values()]
            parts[name] = {
                "files": len(made),
                **{f"cpu_s {program}": round(run.cpu_s, 3) for program, run in runs.items()},
                "ratio": round(runs["asfound"].cpu_s / runs["ffmpeg filters"].cpu_s, 4),
                "findings": {program: sum(map(len, run.found)) for program, run in runs.items()},
                "rightly found": dict(zip(runs, (sum(map(len, r)) for r in right), strict=True)),
                "found by ffmpeg only": sum(len(b - a) for a, b in zip(*right, strict=True)),
                "unclear spans": sum(map(len, runs["asfound"].unclear)),
            }
    return {
        "what": "1280x720, 25/s, H.264, key picture each 2 s, MP4, Matroska, MPEG-TS (constant)",
        "seconds a file": seconds,
        "seeds from": first,
        "scenes by weight": DRIVE_SCENES,
        "share of faulty files": DRIVE_FAULTY,
        **parts,
        "ratio over all files": round(total["asfound"] / total["ffmpeg filters"], 4),
    }


def parts(count: int, files: int) -> dict[str, tuple[str, Callable[[], dict[str, object]]]]:
    """Argument -> name in the results, and what measures that part."""
    return {
        "tuning": ("tuning seeds", lambda: measure(range(500_000, 500_000 + count))),
        "test": ("test seeds", lambda: measure(range(4_179_000, 4_179_000 + count))),
        "stuck": (
            "stuck or parked, test seeds",
            lambda: stuck(range(4_220_000, 4_220_000 + 4 * count)),
        ),
        "files": ("files, test seeds", lambda: kinds(range(4_340_000, 4_340_000 + 3 * count))),
        "drive": ("drive", lambda: drive(files, DRIVE_SECONDS, DRIVE_SEED)),
        "long": ("drive, long files", lambda: drive(files // 3, LONG_SECONDS, LONG_SEED)),
    }


def main() -> None:
    """Measure, print and store."""
    files = int(sys.argv[2]) if len(sys.argv) > 2 else 30
    named = sys.argv[1:2] if sys.argv[1:] and not sys.argv[1].isdigit() else []
    counted = sys.argv[2:3] if named and named[0] not in ("drive", "long") else sys.argv[1:2]
    count = int(counted[0]) if counted and counted[0].isdigit() else 40
    known = parts(count, files)
    parted: dict[str, object] = {}
    for argument in named or known:
        name, measured = known[argument]
        parted[name] = {"at": datetime.now(UTC).isoformat(timespec="seconds"), **measured()}
        print(json.dumps(parted[name], indent=2), flush=True)
    # Read at the end, so that parts can be measured side by side.
    result: dict[str, object] = json.loads(RESULTS.read_text("utf-8")) if named else {}
    result |= {
        "benchmark": "prove beside FFmpeg blackdetect + freezedetect (default options)",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "machine": machine(),
        "versions": {
            "asfound": VERSION,
            "python": platform.python_version(),
            "pyav": av.__version__,
            "pyav ffmpeg": av.ffmpeg_version_info,
            "ffmpeg": imageio_ffmpeg.get_ffmpeg_version(),
            "this file": hashlib.sha256(Path(__file__).read_bytes()).hexdigest()[:12],
        },
    }
    result |= parted
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(result, indent=2) + "\n", "utf-8")


if __name__ == "__main__":
    main()
