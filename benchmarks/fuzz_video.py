"""A fuzz run over the proof: recordings cut, flipped and spliced at random, from seeds.

Small sound files of every container are filmed once. Each case takes one to four kinds of damage:
the end cut off, a piece cut out, bytes flipped, blocks of zeros (sectors that cannot be read),
pieces of other files spliced in, a wrong name. Each is proved in a child process with a limit on
time and memory. Allowed are three ends: readable (a recording without damage), damaged, empty.
Another exception, a crash, a hang, or memory or open files that grow, is a fault, and its file is
kept in the folder that is printed.

Run: python benchmarks/fuzz_video.py [files] [seed]
Writes benchmarks/results/fuzz_video.json, unless it holds a longer run and this one found no
fault; exit code 1 when there are faults.
"""

from __future__ import annotations

import json
import multiprocessing
import platform
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from pathlib import Path

import av
import numpy as np

from asfound.demo.footage import Camera, Coding, Drive, Fault, film, write_together
from asfound.errors import RecordingError
from asfound.jobs.prove_stream import Looked, Tools, look
from asfound.model.finding import Kind
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.video_av import AvVideo
from asfound.version import VERSION

RESULTS = Path(__file__).parent / "results" / "fuzz_video.json"
BATCH = 100
LIMIT_S = 20
"""Seconds after which one small file counts as a hang."""
GROWTH_MB = 80
"""Megabytes that a child may grow after its first 20 files: more is a leak."""
MOST_MB = 900
START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
FAST = (("preset", "ultrafast"), ("crf", "30"))
CODINGS = {
    "mp4": Coding(options=FAST),
    "mov h265": Coding("libx265", (*FAST, ("x265-params", "log-level=none")), suffix=".mov"),
    "mkv": Coding(options=FAST, suffix=".mkv"),
    "ts": Coding(options=FAST, suffix=".ts"),
    "ps": Coding("mpeg2video", (), 400_000, suffix=".mpg"),
    "avi": Coding("mpeg4", (), 400_000, suffix=".avi"),
    "avi mjpeg": Coding("mjpeg", (), 800_000, suffix=".avi"),
    "h264": Coding(options=FAST, suffix=".h264"),
    "mjpeg": Coding("mjpeg", (), 800_000, suffix=".mjpeg"),
}


def sound_files(folder: Path) -> dict[str, bytes]:
    """Sound recordings that the damaged ones are made from."""
    made: dict[str, bytes] = {}
    fault = Fault("frozen", 1.5)
    for number, (name, coding) in enumerate(CODINGS.items()):
        faults = (fault,) if number % 3 == 0 else ()
        camera = Camera(1, "X", "road", 192, 112, 10, faults=faults, coding=coding)
        [path] = film(Drive(number, START, 4, (camera,)), folder / str(number))
        made[name] = path.read_bytes()
    cameras = tuple(
        Camera(channel, "X", "dusk", 160, 96, 10, coding=CODINGS["mkv"]) for channel in (1, 2)
    )
    together = write_together(folder / "both.mkv", Drive(3, START, 3, cameras))
    made["mkv of two streams"] = together.read_bytes()
    return made


def damaged(rng: np.random.Generator, files: list[bytes]) -> tuple[int, bytes]:
    """The number of a sound file, and that file after one to four kinds of damage."""
    which = int(rng.integers(len(files)))
    data = bytearray(files[which])
    for _ in range(int(rng.integers(1, 5))):
        if data:
            damage(rng, data, files)
    return which, bytes(data)


def damage(rng: np.random.Generator, data: bytearray, files: list[bytes]) -> None:
    """One kind of damage, done to ``data``."""
    at, length = int(rng.integers(len(data))), int(2 ** rng.uniform(0, 13))
    other = files[int(rng.integers(len(files)))]
    start = int(rng.integers(len(other)))
    match int(rng.integers(7)):
        case 0:
            del data[at:]
        case 1:
            del data[at : at + length]
        case 2:
            for place in rng.integers(0, len(data), int(rng.integers(1, 60))):
                data[place] ^= 1 << int(rng.integers(8))
        case 3:
            data[at : at + length] = bytes(min(length, len(data) - at))
        case 4:
            data[at:at] = other[start : start + length]
        case 5:
            for place in rng.integers(0, min(400, len(data)), int(rng.integers(1, 8))):
                data[place] = int(rng.integers(256))
        case _:
            data[at:] = other[start:]


@dataclass
class Found:
    """What became of the cases."""

    outcomes: Counter[str] = field(default_factory=Counter)
    by_kind: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    slowest_s: float = 0.0
    growth_mb: float = 0.0


def outcome(path: Path, staged: bool) -> str:
    """Readable, damaged or empty; looked at in stages or wholly."""
    video = AvVideo()
    try:
        facts = video.facts(path)
    except RecordingError as error:
        return "damaged" if "\n" not in str(error) else "several lines"
    if not facts.streams:
        return "empty"
    tools = Tools(video, PillowPictures(), None, lambda: None, not staged, 0)
    looked = [look(facts, stream, 2.0, tools) for stream in facts.streams]
    kinds = {finding.kind for one in looked for finding in one.findings}
    if not all(sound(one) for one in looked):
        return "figures that cannot be"
    if kinds & {Kind.DAMAGED, Kind.TIME_JUMP, Kind.GAP}:
        return "damaged"
    return "empty" if Kind.EMPTY in kinds else "readable"


def sound(looked: Looked) -> bool:
    """Figures are finite and spans lie in order."""
    figures = [looked.rate_fps, looked.duration_s, looked.bitrate_bps, looked.key_interval_s]
    spans = [(finding.start_s, finding.end_s) for finding in looked.findings]
    finite = all(figure is None or np.isfinite(figure) for figure in figures)
    return finite and all(np.isfinite(span).all() and span[0] <= span[1] for span in spans)


def resident_mb() -> float:
    """Megabytes of this process in memory."""
    status = Path("/proc/self/status").read_text("utf-8")
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def open_files() -> int:
    """Files that this process has open."""
    return len(list(Path("/proc/self/fd").iterdir()))


def work(seed: int, count: int, folder: str, sounds: dict[str, bytes], pipe: Connection) -> None:
    """Child: prove one batch, the present case on disk so that a crash leaves it behind."""
    names, files = list(sounds), list(sounds.values())
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    rng, found = np.random.default_rng(seed), Found()
    first_mb, first_open = 0.0, open_files()
    for number in range(count):
        which, data = damaged(rng, files)
        suffix = list(CODINGS.values())[int(rng.integers(len(CODINGS)))].suffix
        present = Path(folder) / f"present-{seed}{suffix}"
        present.write_bytes(data)
        signal.alarm(LIMIT_S)
        started = time.perf_counter()
        try:
            end = outcome(present, staged=number % 2 == 0)
        except Exception as error:  # what must not happen is what is looked for
            end = f"{type(error).__name__}: {error}"
        signal.alarm(0)
        found.slowest_s = max(found.slowest_s, time.perf_counter() - started)
        if number == 20:
            first_mb = resident_mb()
        if number > 20 and resident_mb() > MOST_MB:
            end = f"{resident_mb():.0f} MB, {end}"
        found.outcomes[end] += 1
        found.by_kind[f"{names[which]} {end}"[:90]] += 1
        if end not in ("readable", "damaged", "empty"):
            kept = Path(folder) / f"fault-{seed}-{number}{suffix}"
            kept.write_bytes(data)
            found.faults.append(f"{kept.name} ({names[which]}): {end}")
        present.unlink()
    if count > 20:
        found.growth_mb = resident_mb() - first_mb
        if found.growth_mb > GROWTH_MB:
            found.faults.append(f"batch {seed}: grew by {found.growth_mb:.0f} MB")
    if open_files() > first_open + 2:
        found.faults.append(f"batch {seed}: {open_files() - first_open} files left open")
    pipe.send(found)


def batch(seed: int, count: int, folder: str, sounds: dict[str, bytes]) -> Found:
    """Run one child; a crash or a hang is a fault of its own."""
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    child = context.Process(target=work, args=(seed, count, folder, sounds, theirs))
    child.start()
    theirs.close()
    try:
        found: Found = ours.recv()
    except EOFError:
        child.join()
        found = Found()
        found.outcomes["crashed or hung"] += 1
        found.faults.append(f"present-{seed}: the process ended with {child.exitcode}")
    child.join()
    return found


def stored_cases() -> int:
    """How many cases the stored run had; a short one without faults says less and is not kept."""
    if not RESULTS.exists():
        return 0
    return int(json.loads(RESULTS.read_text("utf-8"))["files"])


def main() -> int:
    """Prove so many damaged files; print and store what became of them."""
    files = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    folder = tempfile.mkdtemp(prefix="fuzz-video-")
    sounds = sound_files(Path(folder) / "sound")
    total, started = Found(), time.perf_counter()
    for number, first in enumerate(range(0, files, BATCH)):
        found = batch(seed * 1_000_000 + number, min(BATCH, files - first), folder, sounds)
        total.outcomes += found.outcomes
        total.by_kind += found.by_kind
        total.faults += found.faults
        total.slowest_s = max(total.slowest_s, found.slowest_s)
        total.growth_mb = max(total.growth_mb, found.growth_mb)
    result = {
        "benchmark": "damaged recordings through the proof, every other one in stages",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "versions": {
            "asfound": VERSION,
            "python": platform.python_version(),
            "pyav": av.__version__,
            "pyav ffmpeg": av.ffmpeg_version_info,
        },
        "seed": seed,
        "seconds": round(time.perf_counter() - started),
        "files": sum(total.outcomes.values()),
        "outcomes": dict(total.outcomes),
        "limit a file [s]": LIMIT_S,
        "slowest file [s]": round(total.slowest_s, 2),
        "most growth of a child after 20 files [MB]": round(total.growth_mb),
        "faults": total.faults,
        "by kind": dict(sorted(total.by_kind.items())),
    }
    print(json.dumps(result, indent=2))
    if total.faults or sum(total.outcomes.values()) >= stored_cases():
        RESULTS.write_text(json.dumps(result, indent=2) + "\n", "utf-8")
    else:
        print(f"{RESULTS} holds a longer run and is kept")
    print(f"files of faults: {folder}")
    return 1 if total.faults else 0


if __name__ == "__main__":
    sys.exit(main())
