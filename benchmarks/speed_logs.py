"""How true a clock's offset by two speed logs is, and how true pulses a kilometre are.

Drives are simulated (benchmarks/simulated_drives.py): the readers and sums know nothing of it.

  clocks      a recorder that shows whole km/h by a clock up to 300 s off, a prompt receiver beside;
              logs of 4 to 6, 10 to 20 and 30 to 60 minutes; offsets up to 30 minutes are looked at
  strangers   logs of two drives that have nothing to do with each other: none may be matched
  pulses      counts with minutes that miss a tenth, clocks up to 20 s apart, receivers up to 1.5 s
              late; distance by their speeds, or by their positions; beside it scikit-learn's
              HuberRegressor through the origin, and least squares with an intercept

Run: python benchmarks/speed_logs.py [drives] [--tune]; seeds below 1000 are for tuning, test seeds
begin at 60,000. Those from 50,000 on were spent: they showed one match of strangers in 120, by
three minutes shared; it takes five since, and more margin. Writes
benchmarks/results/speed_logs.json unless --tune.
"""

from __future__ import annotations

import json
import platform
import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from sklearn.linear_model import HuberRegressor, LinearRegression

from asfound.calc.clock_match import Speeds, match_clocks
from asfound.calc.wheel_pulses import (
    pulse_rate,
    pulse_speeds,
    way_of,
    way_speeds,
    windows_of,
)
from asfound.version import VERSION
from machine import machine
from simulated_drives import drive, pulse_counts, receiver, recorder

RESULTS = Path(__file__).parent / "results" / "speed_logs.json"
TUNE, TEST = 0, 60_000
LENGTHS = ((4.0, 6.0), (10.0, 20.0), (30.0, 60.0))
WRONG_S = 1.0
"""An offset that is further off than this is wrong."""


def clocks(seeds: range, minutes: tuple[float, float]) -> dict[str, object]:
    """Offsets of logs of so many ``minutes``, one drive a seed."""
    errors, held, refused = [], [], 0
    for seed in seeds:
        random = np.random.default_rng([seed, 9])
        length, offset = random.uniform(*minutes), random.uniform(-300, 300)
        made = drive(seed, length)
        cut = (random.uniform(0, 60), length * 60 - random.uniform(0, 60))
        shown, other = recorder(made, seed, offset, cut), receiver(made, seed, 0.0)
        found = match_clocks(
            Speeds(shown.times_s, shown.speed_ms), Speeds(other.times_s, other.speed_ms), 1800
        )
        if found is None or not found.sure:
            refused += 1
            continue
        errors.append(abs(found.offset_s - offset))
        held.append(errors[-1] <= found.within_s)
    return {
        "minutes": list(minutes), "drives": len(seeds), "refused": refused,
        "wrong": int(np.sum(np.array(errors) > WRONG_S)), **spread(errors, "s"),
        "inside_band": float(np.mean(held)) if held else None,
    }  # fmt: skip


def strangers(seeds: range) -> dict[str, object]:
    """Logs of different drives."""
    matched = 0
    for seed in seeds:
        shown = recorder(drive(seed, 20), seed, 0.0, (0, 1190))
        other = receiver(drive(seed + 500_000, 20), seed)
        found = match_clocks(
            Speeds(shown.times_s, shown.speed_ms), Speeds(other.times_s, other.speed_ms), 1800
        )
        matched += found is not None and found.sure
    return {"pairs": len(seeds), "matched": matched}


def pulses(seeds: range, speeds: bool) -> dict[str, object]:
    """Pulses a kilometre, one drive of 20 to 60 minutes a seed; errors as shares in per cent."""
    ours, peer, line, held, none = [], [], [], [], 0
    for seed in seeds:
        random = np.random.default_rng([seed, 19])
        made, per_km = drive(seed, random.uniform(20, 60)), random.uniform(4000, 25_000)
        way = way_of(receiver(made, seed, random.uniform(0, 1.5), speeds))
        times, counts = pulse_counts(made, seed, per_km, random.uniform(-20, 20))
        match = match_clocks(pulse_speeds(times, counts), way_speeds(way), 600)
        if match is None or not match.sure:
            none += 1
            continue
        windows = windows_of(times - match.offset_s, counts, way)
        rate = pulse_rate(windows)
        if rate is None:
            none += 1
            continue
        km = (windows.metres / 1000)[:, None]
        huber = HuberRegressor(epsilon=1.345, fit_intercept=False, alpha=0, max_iter=1000)
        ours.append(abs(rate.per_km / per_km - 1) * 100)
        held.append(rate.low <= per_km <= rate.high)
        peer.append(abs(huber.fit(km, windows.pulses).coef_[0] / per_km - 1) * 100)
        line.append(abs(LinearRegression().fit(km, windows.pulses).coef_[0] / per_km - 1) * 100)
    return {
        "distance": "speeds" if speeds else "positions", "drives": len(seeds), "refused": none,
        **spread(ours, "percent"), "inside_band": float(np.mean(held)),
        "huber_of_scikit_learn": spread(peer, "percent"),
        "least_squares_with_intercept": spread(line, "percent"),
    }  # fmt: skip


def spread(errors: list[float], unit: str) -> dict[str, object]:
    """Median, nine in ten and worst."""
    if not errors:
        return {f"{name}_{unit}": None for name in ("median", "p90", "worst")}
    return {
        f"median_{unit}": round(float(np.median(errors)), 4),
        f"p90_{unit}": round(float(np.quantile(errors, 0.9)), 4),
        f"worst_{unit}": round(float(np.max(errors)), 4),
    }


def measure(drives: int, first: int) -> dict[str, object]:
    """Everything, on seeds from ``first`` on."""
    seeds = range(first, first + drives)
    return {
        "seeds": [seeds.start, seeds.stop - 1],
        "clocks": [clocks(seeds, minutes) for minutes in LENGTHS],
        "strangers": strangers(seeds),
        "pulses": [pulses(seeds, speeds) for speeds in (True, False)],
    }


def main(arguments: list[str]) -> None:
    """Measures, prints and keeps."""
    tuning = "--tune" in arguments
    numbers = [int(each) for each in arguments if each.isdecimal()]
    found = measure(numbers[0] if numbers else 60, TUNE if tuning else TEST)
    print(json.dumps(found, indent=2))
    if not tuning:
        head = {
            "at": datetime.now(UTC).isoformat(timespec="seconds"), "asfound": VERSION,
            "python": platform.python_version(), "machine": machine(),
        }  # fmt: skip
        RESULTS.write_text(json.dumps(head | found, indent=2) + "\n", "utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
