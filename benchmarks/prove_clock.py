"""How well burned-in clocks are read: seeded clips whose drawn clock is known.

Tuning seeds are below 2,000,000, test seeds from there on; test seeds were run once, at the end.
(1,000,000 to 1,000,071 tested an earlier version, and tuned this one.)
"readable": capitals of at least 10 pixels with an edge of their own, H.264 at crf 22 to 34; "hard":
smaller writing, also without an edge, crf 34 to 41; "none": the readable clips with nothing drawn.
A reading is right when it is not doubtful, its time at the start of the file is within 1 s, its day
is among those that the layout allows (or none was read), its course is the drawn one, and it jumps
as far as drawn (or that is said to be unsure). It is wrong without a flag when a clock that is not
called doubtful is off in any of these. With the file's time ("by file"), the offset is right when
it is within 1 s of what was drawn.

Run: python benchmarks/prove_clock.py [clips [first tuning seed, default 0 [processes]]] [--test]
"""

from __future__ import annotations

import json
import platform
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import repeat
from multiprocessing import get_context
from pathlib import Path

import cv2

from asfound.demo.footage_overlay import Filmed, film_clock, random_clip, without
from asfound.jobs.prove_clock import read_burned_clock
from asfound.jobs.prove_clock_judge import ClockAsk, with_clock
from asfound.jobs.prove_clock_looks import Footage
from asfound.model.burned_clock import DAY_S, BurnedClock, ClockState
from asfound.model.finding import Recording
from asfound.ports.backends.code_version import code_version
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.video_av import AvVideo
from asfound.version import VERSION

RESULTS = Path(__file__).parent / "results" / "prove_clock.json"
TEST_FROM = 2_000_000
STATES = {
    "runs": {ClockState.RUNS},
    # One that stops within the first pictures is seen standing only.
    "stands": {ClockState.STANDS, ClockState.STOPS},
    "jumps": {ClockState.JUMPS},
}


@dataclass(frozen=True)
class Verdict:
    """What became of one clip: right, doubtful, not-found or wrong; the same for the offset
    against the file (right, open, doubtful, wrong; "" where a clock does not run)."""

    reading: str
    by_file: str
    error_s: float | None
    cpu_s: float


def judged(clip: Filmed, clock: BurnedClock | None, cpu_s: float) -> Verdict:
    """The reading against what was drawn."""
    if clip.burned is None:
        return Verdict("right" if clock is None else "wrong", "", None, cpu_s)
    if clock is None:
        return Verdict("not-found", "not-found", None, cpu_s)
    if clock.state is ClockState.DOUBTFUL:
        return Verdict("doubtful", "doubtful", None, cpu_s)
    how, by = clip.ticking.how, clip.ticking.by_s
    state_right = clock.state in STATES[how]
    drawn = clip.ticking.shown(clip.seconds if how == "stands" else 0.0)
    started = drawn if clock.state is ClockState.STANDS else clip.ticking.start
    error = _error(clock, started)
    slack = 1.0 if clock.state is not ClockState.STANDS else 1.001
    day_right = not clock.days or started.date() in clock.days
    jump_right = how != "jumps" or clock.change_s is None or abs(clock.change_s - by) <= 1
    right = state_right and abs(error) <= slack and day_right and jump_right
    noted = clock.state is ClockState.STANDS and bool(clock.notes)
    reading = "right" if right else "doubtful" if state_right and noted else "wrong"
    return Verdict(reading, _by_file(clip, clock), error, cpu_s)


def _error(clock: BurnedClock, started: datetime) -> float:
    seconds = (started - datetime.combine(started.date(), datetime.min.time())).total_seconds()
    if clock.state is ClockState.STANDS:
        seconds = float(int(seconds))
    return (clock.clock_s - seconds + DAY_S / 2) % DAY_S - DAY_S / 2


def _by_file(clip: Filmed, clock: BurnedClock) -> str:
    if clock.state not in (ClockState.RUNS, ClockState.JUMPS):
        return ""
    blank = Recording("", 1, "", 1, 1, None, clip.seconds, None, clip.start, ())
    held = with_clock(blank, clock, ClockAsk(zone="+00:00")).clock
    if held is None or held.offset_s is None:
        return "open"
    drawn = clip.ticking.start - clip.start.replace(tzinfo=None)
    return "right" if abs(held.offset_s - drawn / timedelta(seconds=1)) <= 1 else "wrong"


_OCR: list[RapidOcr] = []
"""The engine of a worker process, made once."""


def _begin() -> None:
    cv2.setNumThreads(1)
    _OCR.append(RapidOcr(1))


def look(seed: int, kind: str, folder: str) -> Verdict:
    """Film a clip in ``folder``, read it, judge it."""
    clip = random_clip(seed, hard=kind == "hard")
    clip = without(clip) if kind == "none" else clip
    path = film_clock(clip, Path(folder) / f"{seed}{clip.camera.coding.suffix}")
    before = time.process_time()
    clock = read_burned_clock(Footage(path, 0, clip.seconds), video=AvVideo(), ocr=_OCR[0])
    spent = time.process_time() - before
    path.unlink()
    return judged(clip, clock, spent)


def run(seeds: range, kind: str, pool: ProcessPoolExecutor) -> dict[str, object]:
    """Figures over the clips of ``seeds``."""
    with tempfile.TemporaryDirectory() as folder:
        return figures(seeds, list(pool.map(look, seeds, repeat(kind), repeat(folder))))


def figures(seeds: range, verdicts: Sequence[Verdict]) -> dict[str, object]:
    """What became of all clips, counted."""
    odd = [
        {"seed": seed, "what": one.reading, "by_file": one.by_file}
        for seed, one in zip(seeds, verdicts, strict=True)
        if one.reading != "right" or one.by_file == "wrong"
    ]
    count = len(verdicts)
    readings = Counter(verdict.reading for verdict in verdicts)
    by_file = Counter(verdict.by_file for verdict in verdicts if verdict.by_file)
    errors = sorted(
        abs(v.error_s) for v in verdicts if v.reading == "right" and v.error_s is not None
    )
    return {
        "seeds": [seeds.start, seeds.stop - 1],
        "clips": count,
        "readings": dict(readings),
        "right_share": round(readings["right"] / count, 4),
        "wrong_without_flag": readings["wrong"] + by_file["wrong"],
        "offset_by_file": dict(by_file),
        "largest_error_s": round(errors[-1], 3) if errors else None,
        "cpu_s_a_clip": round(sum(v.cpu_s for v in verdicts) / count, 3),
        "not_right": odd,
    }


def main() -> int:
    """Run and print; with --test, on test seeds and stored."""
    words = [word for word in sys.argv[1:] if not word.startswith("--")]
    test = "--test" in sys.argv
    count = int(words[0]) if words else 60
    first = TEST_FROM if test else int(words[1]) if len(words) > 1 else 0
    cores = int(words[2]) if len(words) > 2 else 1
    with ProcessPoolExecutor(cores, get_context("spawn"), _begin) as pool:
        found = {
            kind: run(range(first, first + number), kind, pool)
            for kind, number in (("readable", count), ("hard", count // 8), ("none", count // 8))
        }
    stored = json.loads(RESULTS.read_text()) if RESULTS.exists() else {}
    stored |= {"version": VERSION, "code": code_version(), "python": platform.python_version()}
    stored["measured"] = datetime.now(UTC).isoformat(timespec="seconds")
    stored["test" if test else "tuning"] = found
    RESULTS.write_text(json.dumps(stored, indent=1) + "\n")
    print(json.dumps(found, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
