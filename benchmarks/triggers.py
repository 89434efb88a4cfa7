"""Every setting of motion triggers over vehicle-days, beside NumPy one setting at a time.

Vehicle-days are 24 h at 25 Hz on three axes: ten hours of simulated drives (demo/drives.py: bus,
lorry, van in turn; seeds 71000 and up) and fourteen hours parked, as float32 on disk. A few such
days are written and streamed from disk again and again until there are as many as wanted.

- The grid: 3 axes x 40 thresholds x 10 durations (calc/trigger_sweep.py, compiled) over filtered
  days, and the same with fewer thresholds over the same range.
- NumPy: for each of the 400 settings, one comparison with the threshold over the whole array, run
  lengths from its edges, and the hold-off over the runs that are long enough; over one hour of each
  kind of driving, and an hour parked for every hour and a half driven, as on a day. Its counts have
  to be the grid's.
- The whole: read from disk, evened, turned, filtered, swept, as `asfound triggers` does after its
  CSV is read; peak memory after a tenth and after all.

Run: python benchmarks/triggers.py [vehicle-days]; writes benchmarks/results/triggers.json.
"""

from __future__ import annotations

import json
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from asfound.calc.even_samples import Ticks
from asfound.calc.motion_filters import butterworth
from asfound.calc.trigger_grid import THRESHOLDS_G, Settings, spans_of
from asfound.demo.drives import VEHICLES, Conditions, drive
from asfound.jobs.sweep_log import Mount, SweepLog, sweep_log
from asfound.model.drive_log import Acceleration
from asfound.model.trigger import Direction
from asfound.ports.backends.sweep_numba import sweeps
from asfound.ports.sweeps import PlainSweeps, Sweeps
from asfound.version import VERSION
from machine import machine

RESULTS = Path(__file__).parent / "results" / "triggers.json"
RATE = 25.0
DAY = int(24 * 3600 * RATE)
HOURS = 10
BLOCK = 1 << 16
G = 9.80665
ALL = (Direction.FORWARD, Direction.SIDEWAYS, Direction.UPRIGHT)
Samples = NDArray[np.float32]


def made_day(number: int) -> Samples:
    """A vehicle-day (n, 3) [m/s²], mounted square."""
    draw = np.random.default_rng(70000 + number)
    day = draw.normal(0, 0.04, (DAY, 3)).astype(np.float32)
    day[:, 2] += G
    how = Conditions(harsh_an_hour=2, upright=True, offset_ms2=0.0)
    at = int(6 * 3600 * RATE)
    for hour in range(HOURS):
        made = drive(71000 + 100 * number + hour, 60, VEHICLES[number % 3], how)
        xyz = made.acceleration.xyz_ms2
        day[at : at + len(xyz)] = xyz
        at += int(3600 * RATE)
    return day


def streamed(files: Sequence[Path], days: int) -> Callable[[], Iterator[Acceleration]]:
    """Blocks of ``days`` vehicle-days, one file after the other."""

    def blocks() -> Iterator[Acceleration]:
        for number in range(days):
            day: Samples = np.load(files[number % len(files)], mmap_mode="r")
            for at in range(0, DAY, BLOCK):
                xyz = np.array(day[at : at + BLOCK])
                yield Acceleration((number * DAY + at + np.arange(len(xyz))) / RATE, xyz)

    return blocks


def filtered(day: Samples, machine_: Sweeps) -> NDArray[np.float64]:
    """(3, n): each axis through the usual low-pass, gravity taken away."""
    one = butterworth(5.0, RATE)
    made = np.empty((3, len(day)))
    for axis in range(3):
        x = np.ascontiguousarray(day[:, axis], np.float64) - (G if axis == 2 else 0.0)
        machine_.run_sections(x, one.sections, one.settled() * x[0], made[axis])
    return made


def grid(
    axes: Sequence[NDArray[np.float64]], settings: Settings, machine_: Sweeps
) -> list[list[list[int]]]:
    """Events of each axis, threshold and duration."""
    spans, needs, hold = spans_of([]), settings.needs(RATE), settings.hold(RATE)
    counts = []
    for x in axes:
        state = settings.new_state(0)
        machine_.sweep(x, 0, settings.levels(), needs, hold, state, spans)
        machine_.shut(len(x), needs, hold, state, spans)
        counts.append(state[2].tolist())
    return counts


def numpy_setting(size: NDArray[np.float64], threshold: float, need: int, hold: int) -> int:
    """Events of one setting, of accelerations without sign: the whole array at once, but for the
    hold-off."""
    above = size >= threshold
    edges = np.flatnonzero(above[1:] != above[:-1]) + 1
    if above[0]:
        edges = np.concatenate([[0], edges])
    if above[-1]:
        edges = np.concatenate([edges, [len(size)]])
    starts, ends = edges[::2], edges[1::2]
    long = ends - starts >= need
    count, free = 0, -hold
    for low, high in zip(
        (starts[long] + need - 1).tolist(), (ends[long] - 1).tolist(), strict=True
    ):
        at = max(low, free)
        if at <= high:
            fired = 1 + (high - at) // hold
            count += fired
            free = at + fired * hold
    return count


def one_by_one(axes: Sequence[NDArray[np.float64]], settings: Settings) -> list[list[list[int]]]:
    """The same as ``grid``, setting by setting."""
    needs, hold = settings.needs(RATE).tolist(), settings.hold(RATE)
    return [
        [
            [numpy_setting(x, threshold, need, hold) for need in needs]
            for threshold in settings.levels()[1:-1].tolist()
        ]
        for x in map(np.abs, axes)
    ]


def seconds(work: Callable[[], object], times: int = 1) -> float:
    """Processor seconds, the least of several runs: one thread each, so a busy machine does not
    count."""
    least = float("inf")
    for _ in range(times):
        began = time.process_time()
        work()
        least = min(least, time.process_time() - began)
    return least


def peak_mib() -> float:
    """Most memory that this process has held."""
    status = Path("/proc/self/status").read_text()
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024


def sample_of(days: Sequence[Sequence[NDArray[np.float64]]]) -> list[NDArray[np.float64]]:
    """Each axis: an hour of each day's driving, and parked hours in a day's proportion."""
    hour = int(3600 * RATE)
    driven = slice(7 * hour, 8 * hour)
    parked = slice(0, int(hour * 14 / 10))
    return [
        np.concatenate([each for day in days for each in (day[axis][driven], day[axis][parked])])
        for axis in range(3)
    ]


def filtered_again(days: Sequence[Sequence[NDArray[np.float64]]], machine_: Sweeps) -> None:
    """The filter over each day."""
    one, out = butterworth(5.0, RATE), np.empty(DAY)
    for day in days:
        for x in day:
            machine_.run_sections(x, one.sections, one.settled() * x[0], out)


def swept(
    days: Sequence[Sequence[NDArray[np.float64]]], settings: Settings, machine_: Sweeps
) -> None:
    """The grid of each day."""
    for day in days:
        grid(day, settings, machine_)


def grid_figures(
    days: Sequence[Sequence[NDArray[np.float64]]], machine_: Sweeps
) -> dict[str, object]:
    """The grid by number of thresholds, and NumPy beside it."""
    full = Settings()
    count = sum(len(x) for day in days for x in day)
    speed, times = {}, {}
    for number in (1, 2, 10, 40):
        part = Settings(thresholds_g=THRESHOLDS_G[:: 40 // number][:number])
        times[number] = seconds(partial(swept, days, part, machine_), 3)
        speed[f"{number} thresholds"] = round(count / times[number] / 1e6, 1)
    single = Settings(thresholds_g=(0.4,))
    alone = seconds(partial(swept, days, single, machine_), 3)
    sample = sample_of(days)
    size = sum(len(x) for x in sample)
    ours = seconds(lambda: grid(sample, full, machine_), 3)
    if grid(sample, full, machine_) != one_by_one(sample, full):
        raise RuntimeError("NumPy counts other events than the grid")
    theirs = seconds(lambda: one_by_one(sample, full))
    short = [x[: int(600 * RATE)] for x in sample]
    plain = seconds(lambda: grid(short, full, PlainSweeps()))
    filters = seconds(partial(filtered_again, days, machine_), 3)
    return {
        "million samples a cpu second, by thresholds (10 durations)": speed,
        "40 thresholds to 1 (the lowest), time": round(times[40] / times[1], 2),
        "40 thresholds to 1 (the lowest), filter and sweep": round(
            (filters + times[40]) / (filters + times[1]), 2
        ),
        "one threshold of 0.4 g, million samples a cpu second": round(count / alone / 1e6, 1),
        "40 thresholds to 1 at 0.4 g, filter and sweep": round(
            (filters + times[40]) / (filters + alone), 2
        ),
        "filter, million samples a cpu second": round(count / filters / 1e6, 1),
        "sample beside NumPy": size,
        "NumPy setting by setting, million samples a cpu second": round(size / theirs / 1e6, 2),
        "grid on the same, million samples a cpu second": round(size / ours / 1e6, 1),
        "times faster": round(theirs / ours, 1),
        "uncompiled, million samples a cpu second": round(sum(map(len, short)) / plain / 1e6, 2),
        "1,000 vehicle-days of the grid alone, by this, cpu s": round(
            3000 * DAY / (count / times[40]), 1
        ),
    }


def whole(folder: Path, days: int) -> dict[str, float]:
    """All from disk on, in this process: seconds, and the memory that it takes."""
    mount = Mount(np.eye(3), np.array([0.0, 0.0, G]), ALL)
    files = sorted(folder.glob("*.npy"))
    machine_ = sweeps()

    def job(count: int) -> SweepLog:
        return SweepLog(streamed(files, count), 1.0, Ticks(0.0, RATE, True), mount,
                        butterworth(5.0, RATE), Settings())  # fmt: skip

    compiling = seconds(
        lambda: sweep_log(replace(job(1), blocks=lambda: iter([])), sweeps=machine_)
    )
    began, clock = peak_mib(), time.perf_counter()
    spent = seconds(lambda: sweep_log(job(days), sweeps=machine_))
    return {
        "vehicle-days": days,
        "compile_s": round(compiling, 2),
        "cpu_s": round(spent, 1),
        "wall_s": round(time.perf_counter() - clock, 1),
        "started_mib": round(began, 1),
        "peak_mib": round(peak_mib(), 1),
    }


def whole_figures(folder: Path, days: int) -> dict[str, object]:
    """A tenth of the days and all of them, each in a process of its own."""
    tenth, all_of_them = (
        json.loads(
            subprocess.run(
                [sys.executable, __file__, "--whole", str(folder), str(count)],
                capture_output=True,
                check=True,
            ).stdout
        )
        for count in (max(1, days // 10), days)
    )
    return {
        "a tenth": tenth,
        "all": all_of_them,
        "million samples a cpu second": round(3 * DAY * days / all_of_them["cpu_s"] / 1e6, 1),
    }


def main(days: int) -> None:
    """Measures, prints, stores."""
    began = time.process_time()
    machine_ = sweeps()
    grid([np.zeros(9)] * 3, Settings(), machine_)
    filtered(np.zeros((9, 3), np.float32), machine_)
    compiled = time.process_time() - began
    with tempfile.TemporaryDirectory() as folder:
        files = []
        for number in range(3):
            files.append(Path(folder) / f"{number}.npy")
            np.save(files[-1], made_day(number))
        from_disk = whole_figures(Path(folder), days)
        axes = [list(filtered(np.load(file), machine_)) for file in files]
    result = {
        "benchmark": "every setting of motion triggers beside NumPy one setting at a time",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "machine": machine(),
        "versions": {
            "asfound": VERSION,
            "python": platform.python_version(),
            "numpy": np.__version__,
            "compiled": machine_.compiled,
        },
        "import and compile, or load what was compiled, cpu s": round(compiled, 2),
        "grid": grid_figures(axes, machine_),
        "from disk on": from_disk,
    }
    RESULTS.write_text(json.dumps(result, indent=2) + "\n", "utf-8")
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    if sys.argv[1:2] == ["--whole"]:
        print(json.dumps(whole(Path(sys.argv[2]), int(sys.argv[3]))))
        sys.exit()
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
