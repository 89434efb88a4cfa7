"""Recommended motion triggers and mounted axes on drives that nothing was tuned on.

Drives of a bus, a lorry and a van in turn (demo/drives.py): sets of four trips of 8.5 minutes, with
about as many labels as a person marks in an afternoon, sensors turned anyhow. For each set,
triggers are chosen on three trips and judged on the fourth, in turn; beside them the fixed rule of
one raw sample at 0.4 g on the same directions, with the same hold-off. Figures of calc and jobs
were chosen on the tuning seeds (3000 to 3359); the test seeds were looked at for this table alone.

Axes: drives of 4, 10 and 20 minutes, the angle between found and true forward and up, and how many
lie within twice the standard error that is told.

Run: python benchmarks/trigger_scores.py; writes benchmarks/results/trigger_scores.json.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from asfound.calc.even_samples import Floats
from asfound.calc.log_survey import Surveyor
from asfound.demo.drives import VEHICLES, Conditions, Drive, Vehicle, drive
from asfound.jobs.acceleration_columns import Columns
from asfound.jobs.judge_triggers import Outcome
from asfound.jobs.mount_log import Said, mount_log
from asfound.jobs.read_acceleration import AccelerationForm, AccelerationLog
from asfound.jobs.tune_triggers import LogAsked, TuneTriggers, tune_triggers
from asfound.ports.backends.sweep_numba import sweeps
from asfound.version import VERSION
from machine import machine

RESULTS = Path(__file__).parent / "results" / "trigger_scores.json"
SETS, TRIPS = 36, 4
TUNING, TEST, AXES = 3000, 81000, 86000
HARSH = Conditions(harsh_an_hour=22)


def asked(name: str, made: Drive) -> LogAsked:
    """A drive as a log."""
    log = made.acceleration
    rows = np.column_stack([log.times_s, log.xyz_ms2])
    lines = (f"{at:.3f},{x:.4f},{y:.4f},{z:.4f}" for at, x, y, z in rows.tolist())
    raw = "\n".join(lines).encode()
    columns = Columns(",", 0, (0, 1, 2, 3), "s", "")
    return LogAsked(
        AccelerationLog(name, lambda: [raw], columns, AccelerationForm()), made.track, made.labels
    )


def scores(base: int, vehicle: Vehicle | None = None) -> dict[str, object]:
    """All sets from seed ``base`` on; only those of one vehicle."""
    judged, fixed, worst = Outcome(), Outcome(), 1.0
    for number in range(SETS):
        kind = VEHICLES[number % len(VEHICLES)]
        if vehicle not in (None, kind):
            continue
        logs = [
            asked(f"{trip}", drive(base + 10 * number + trip, 8.5, kind, HARSH))
            for trip in range(TRIPS)
        ]
        made = tune_triggers(TuneTriggers(tuple(logs), None, 10.0), sweeps=sweeps())
        if made.fixed is None or made.judged.parts != TRIPS:
            raise RuntimeError("a set was not judged trip by trip")
        judged, fixed = judged + made.judged.outcome, fixed + made.fixed
        worst = min(worst, f_score(made.judged.outcome))
    return {"judged": said(judged), "0.4 g": said(fixed), "worst set, F": round(worst, 2)}


def f_score(one: Outcome) -> float:
    """2 caught / (labels + caught + outside)."""
    return 2 * one.caught / (one.labels + one.caught + one.outside)


def said(one: Outcome) -> dict[str, object]:
    """Figures for the table."""
    return {
        "labels": one.labels,
        "hours": round(one.hours, 1),
        "recall": round(one.recall or 0.0, 3),
        "precision": round(one.precision or 0.0, 3),
        "F": round(f_score(one), 3),
        "outside an hour": round(one.outside / one.hours, 1),
    }


def off_deg(one: Floats, other: Floats) -> float:
    """The angle between two directions [degrees]."""
    return float(np.degrees(np.arccos(np.clip(one @ other, -1, 1))))


def axes(minutes: float, count: int = 48) -> dict[str, object]:
    """How far found axes are off, and how well that is told."""
    forward: list[tuple[float, float]] = []
    up: list[tuple[float, float]] = []
    for number in range(count):
        made = drive(AXES + number, minutes, VEHICLES[number % 3], replace(HARSH, harsh_an_hour=3))
        surveyor = Surveyor()
        surveyor.feed(made.acceleration.times_s, made.acceleration.xyz_ms2)
        survey = surveyor.made()
        if survey is None:
            raise RuntimeError("no survey")
        mounted = mount_log("x", survey, "m/s2", Said(), made.track)
        if mounted.up is not None:
            up.append((off_deg(mounted.up.axis, made.axes[2]), mounted.up.error_deg))
        if mounted.forward is not None:
            forward.append((off_deg(mounted.forward.axis, made.axes[0]), mounted.forward.error_deg))
    return {
        "drives": count,
        "forward told": len(forward),
        "forward off, degrees": spread(forward),
        "up off, degrees": spread(up),
    }


def spread(pairs: list[tuple[float, float]]) -> dict[str, float]:
    """Median, the 9 of 10, the most, and the share within twice what was told."""
    off: NDArray[np.float64] = np.array([each for each, _ in pairs] or [np.nan])
    told = np.array([each for _, each in pairs] or [np.nan])
    return {
        "median": round(float(np.median(off)), 2),
        "9 of 10 within": round(float(np.quantile(off, 0.9)), 2),
        "most": round(float(off.max()), 2),
        "within twice the error told": round(float((off <= 2 * told).mean()), 2),
    }


def main() -> None:
    """Measures, prints, stores."""
    result = {
        "benchmark": "recommended motion triggers and mounted axes on unseen drives",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "machine": machine(),
        "versions": {"asfound": VERSION, "numpy": np.__version__},
        f"tuning seeds {TUNING} to {TUNING + 10 * SETS - 1}": scores(TUNING),
        f"test seeds {TEST} to {TEST + 10 * SETS - 1}": scores(TEST),
        "test seeds by vehicle": {one.name: scores(TEST, one) for one in VEHICLES},
        f"axes, seeds {AXES} on": {f"{minutes} min": axes(minutes) for minutes in (4, 10, 20)},
    }
    RESULTS.write_text(json.dumps(result, indent=2) + "\n", "utf-8")
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
