"""How well `prove` tells picture faults: blurred, covered, exposure, moved, noisy, rolling.

Clips of moving worlds are filmed by the simulator, one fault in most of them at a known time, and
looked at with an earlier picture of the same camera beside. A fault counts as found when a finding
of its kind begins and ends within one key interval or 2 s of it (of a fault that grows: begins
while it grows). Any other finding of these kinds in a clip is wrong. F1 is 2 right / (2 right +
missed + wrong); unclear counts as missed. Faults are put where a person could see them: exposure,
dirt and partial covers by day, blur outside the dark of a tunnel, moved aim while driving (parked,
the vehicle's own parts are not told from the yard).

Good drives are looked through for false alarms. To be affordable only their key pictures are
filmed, one each 4 s as prove looks at them where nothing is suspicious, each coded by itself, and
given to the measures directly: ten minutes a drive, of which the course "round" is a working
hour's drive, stop, tunnel and rain.

The group "real clips" puts the same faults, and black, one-colour and stuck pictures, into clips
and photographs that packages ship (benchmarks/real_clips.py): nothing in them was drawn by us.

Tuning seeds are below 1,000,000, of real clips from 4,600,000; test seeds are told beside the
figures and were used once.

Run: python benchmarks/prove_faults.py [clips a kind [hours of good footage [tuning|test|
real-tuning|real-test [folder]]]]; writes benchmarks/results/prove_faults.json. Films stay in the
folder, if one is given.
"""

from __future__ import annotations

import hashlib
import json
import platform
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import av
import cv2
import numpy as np

import real_clips
from asfound.demo.footage import Coding
from asfound.demo.footage_faults import Footage, PictureFault, earlier_picture, film_faults
from asfound.jobs.prove import Prove, prove
from asfound.jobs.prove_pictures import PictureWatch, Reference
from asfound.model.finding import Kind
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.video_av import AvVideo
from asfound.version import VERSION

RESULTS = Path(__file__).parent / "results" / "prove_faults.json"
SECONDS, RATE = 18.0, 6.0
TOLERANCE_S = 2.0
KEYS_S = 4.0
"""Key pictures of good drives come so far apart."""
FIRST_SEED = {
    "tuning": 0,
    "test": 4_850_000,
    "real-tuning": 4_600_000,
    "real-test": 4_810_000,
}
VEHICLE_SHARE = 0.01
"""Of real clips: a camera on a vehicle sees its vehicle (common practice, no source)."""
WORLDS = ("day", "rain", "night", "tunnel", "parked", "parked-night")
LIT = ("day", "rain", "parked")
DRIVING = ("day", "rain", "night")
BY_DAY = ("overexposed", "underexposed", "partly-covered", "dirt")
"""Faults that a person sees by day."""
WORLDS_OF = {
    "blurred": tuple(world for world in WORLDS if world != "tunnel"),
    "moved": DRIVING,
    "": (*DRIVING, "tunnel"),
}
ONE = (("threads", "1"), ("preset", "superfast"))
CODINGS = (
    (Coding(options=(*ONE, ("crf", "27"))), 1.0),
    (Coding(options=(*ONE, ("crf", "33")), key_every_s=2.0, suffix=".mkv"), 2.0),
    (
        Coding(
            options=(*ONE, ("nal-hrd", "cbr"), ("maxrate", "800k"), ("bufsize", "800k")),
            bit_rate=800_000,
            key_every_s=2.0,
            suffix=".ts",
        ),
        2.0,
    ),
)
GROUPS: dict[str, tuple[Kind, ...]] = {
    "blurred": (Kind.BLURRED,),
    "covered": (Kind.COVERED,),
    "exposure": (Kind.OVEREXPOSED, Kind.UNDEREXPOSED),
    "moved": (Kind.MOVED,),
    "noisy": (Kind.NOISY,),
    "rolling": (Kind.ROLLING,),
}
SIGNAL: dict[str, tuple[Kind, ...]] = {
    "black": (Kind.BLACK,),
    "no-signal": (Kind.NO_SIGNAL,),
    "frozen": (Kind.FROZEN,),
}
"""Put into real clips only: benchmarks/prove_kinds.py and prove_stuck.py have them elsewhere."""
EVERY = {**GROUPS, **SIGNAL}


@dataclass(frozen=True)
class Case:
    """One clip, its fault's group ("" for none), and whether an earlier picture is given."""

    footage: Footage
    group: str
    key_s: float
    reference_seed: int
    reference: real_clips.FromFile | None = None


def real_cases(seeds: range) -> list[Case]:
    """One clip of real pictures a seed; every tenth is good.

    The earlier picture shows another place, else the window's own drift would be a change of aim;
    aim needs the vehicle's own parts in view as well, VEHICLE_SHARE of the picture at least, for
    there is nothing else to tell it by. Focus is not put out in a clip half of which
    was filmed out of focus, exposure and dirt not put into dusk; small pictures get SIGNAL alone.
    """
    groups = [*EVERY, ""]
    made = []
    for seed in seeds:
        random = np.random.default_rng(seed)
        group = groups[seed % len(groups)]
        fault = _fault(group, random)
        out: tuple[str, ...] = real_clips.SMALL if group in GROUPS else ()
        out += ("bikes",) if group == "blurred" else ()
        out += ("rocket",) if fault is not None and fault.kind in BY_DAY else ()
        name = str(random.choice([name for name in real_clips.SOURCES if name not in out]))
        other = str(random.choice([other for other in real_clips.LARGE if other != name]))
        width, height = real_clips.size_of(name, other)
        parts = group == "moved" or bool(random.random() < 0.5)
        coding, key_s = CODINGS[int(random.integers(len(CODINGS)))]
        footage = Footage(
            seed, name, SECONDS, () if fault is None else (fault,), width, height,
            RATE, float(random.uniform(0.8, 2.2)), _vehicle(seed, width, height), coding,
            real_clips.FromFile(name, parts),
        )  # fmt: skip
        earlier = real_clips.FromFile(other, parts)
        made.append(Case(footage, group, key_s, seed + 500_000, earlier))
    return made


def _vehicle(seed: int, width: int, height: int) -> int:
    """The seed of a vehicle enough of which is seen, from this seed on."""
    while real_clips.vehicle_share(width, height, seed) < VEHICLE_SHARE:
        seed += 1
    return seed


def cases(seeds: range) -> list[Case]:
    """One clip a seed; every seventh is good."""
    groups = [*GROUPS, ""]
    made = []
    for seed in seeds:
        random = np.random.default_rng(seed)
        group = groups[seed % len(groups)]
        fault = _fault(group, random)
        lit = fault is not None and fault.kind in BY_DAY
        choice = LIT if lit else WORLDS_OF.get(group, WORLDS)
        coding, key_s = CODINGS[int(random.integers(len(CODINGS)))]
        footage = Footage(
            seed, str(random.choice(choice)), SECONDS, () if fault is None else (fault,),
            rate=RATE, noise=float(random.uniform(0.8, 2.2)), vehicle=seed, coding=coding,
        )  # fmt: skip
        made.append(Case(footage, group, key_s, seed + 500_000))
    return made


def _fault(group: str, random: np.random.Generator) -> PictureFault | None:
    if not group:
        return None
    kinds = {
        "covered": ("covered", "partly-covered", "dirt"),
        "exposure": ("overexposed", "underexposed"),
        "rolling": ("rolling", "torn"),
    }
    kind = str(random.choice(kinds.get(group, (group,))))
    low, high = {
        "blurred": (4, 9), "covered": (20, 140), "partly-covered": (0.2, 0.5), "dirt": (0.12, 0.3),
        "overexposed": (3.2, 5), "underexposed": (0.1, 0.2), "noisy": (12, 20),
        "rolling": (0.2, 0.45), "torn": (4, 10), "moved": (5, 15),
        "black": (0, 0), "no-signal": (0, 0), "frozen": (0, 0),
    }[kind]  # fmt: skip
    first = float(random.uniform(4.5, 7))
    last = None if random.random() < 0.4 else first + float(random.uniform(7, 9))
    ramp = 3.0 if kind == "blurred" and random.random() < 0.3 else 0.0
    return PictureFault(
        kind, first, last, float(random.uniform(low, high)), ramp,
        turn=float(random.uniform(-6, 6)), way=float(random.uniform(0, 360)),
        seed=int(random.integers(1000)),
    )  # fmt: skip


def look(path: Path, reference: Path | None) -> tuple[list[tuple[Kind, float, float]], list[str]]:
    """Findings of the kinds in EVERY group, and what was unclear."""
    request = Prove((path,), references=() if reference is None else (reference,))
    [recording] = prove(request, video=AvVideo(), pictures=PillowPictures()).recordings
    kinds = {kind for group in EVERY.values() for kind in group}
    found = [(f.kind, f.start_s, f.end_s) for f in recording.findings if f.kind in kinds]
    return found, list(recording.unclear)


def _right(case: Case, found: tuple[Kind, float, float]) -> bool:
    fault = case.footage.faults[0]
    wanted = EVERY[case.group]
    if case.group == "exposure":
        wanted = (Kind(fault.kind),)
    slack = max(TOLERANCE_S, case.key_s)
    end = case.footage.seconds if fault.to_s is None else fault.to_s
    begins = fault.from_s - slack <= found[1] <= fault.from_s + fault.ramp_s + slack
    return found[0] in wanted and begins and abs(found[2] - end) <= slack


def _filmed(footage: Footage, path: Path) -> Path:
    """The film of that name, made unless it is there."""
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        film_faults(footage, path.with_stem("part")).rename(path)
    return path


def _earlier(
    footage: Footage, seed: int, path: Path, view: real_clips.FromFile | None = None
) -> Path:
    """An earlier picture of the same camera, by day or in rain, or ``view``."""
    if not path.exists():
        world = "day" if footage.seed % 2 else "rain"
        luma = earlier_picture(footage, seed, world, view)
        cv2.imwrite(str(path), cv2.cvtColor(luma, cv2.COLOR_GRAY2BGR))
    return path


def measure(seeds: range, made: list[Case], folder: Path) -> dict[str, object]:
    """Every group's figures, and what went wrong, by seed."""
    tallies = {group: Counter[str]() for group in EVERY}
    wrong: list[str] = []
    for case in made:
        place = folder / f"clip{case.footage.seed}"
        path = _filmed(case.footage, place / f"ch1{case.footage.coding.suffix}")
        reference = _earlier(case.footage, case.reference_seed, place / "ch1.png", case.reference)
        found, unclear = look(path, reference)
        hits = [item for item in found if case.group and _right(case, item)]
        told = [f"{kind.value} {start:.1f} to {end:.1f}" for kind, start, end in found]
        fault = case.footage.faults[0] if case.footage.faults else None
        if case.group and not hits:
            doubt = any("aim" in line for line in unclear) and case.group == "moved"
            doubt |= any("stand" in line or "stuck" in line for line in unclear) and (
                case.group == "frozen"
            )
            tallies[case.group]["unclear" if doubt else "missed"] += 1
        elif case.group:
            tallies[case.group]["right"] += 1
        extra = [item for item in found if item not in hits]
        for kind, _, _ in extra:
            group = next(name for name, kinds in EVERY.items() if kind in kinds)
            tallies[group]["wrong"] += 1
        if extra or (case.group and not hits):
            wrong.append(
                f"seed {case.footage.seed} {case.footage.world}: {fault}; found {told}; {unclear}"
            )
    kinds = {group: _scores(tally) for group, tally in tallies.items() if tally}
    return {"seeds": [seeds.start, seeds.stop - 1], "kinds": kinds, "not right": wrong}


def _scores(tally: Counter[str]) -> dict[str, object]:
    right, wrong = tally["right"], tally["wrong"]
    missed = tally["missed"] + tally["unclear"]
    whole = 2 * right + missed + wrong
    return {
        **{name: tally[name] for name in ("right", "missed", "unclear", "wrong")},
        "f1": round(2 * right / whole, 3) if whole else None,
    }


Filmer = Callable[[int, float, Path], tuple[Footage, Path, Path]]
"""Films a good drive's key pictures: footage, file, earlier picture."""


def key_pictures(seed: int, minutes: float, folder: Path) -> tuple[Footage, Path, Path]:
    """A good drive: its key pictures, a second apart in the file, and an earlier picture."""
    courses = ("round", "night", "parked", "tunnel", "rain", "parked-night", "day")
    random = np.random.default_rng(seed)
    coding = Coding(options=(*ONE, ("crf", str(int(random.integers(25, 34))))), key_every_s=1.0)
    footage = Footage(
        seed, courses[seed % len(courses)], 60 * minutes, rate=1 / KEYS_S,
        noise=float(random.uniform(0.8, 2.2)), vehicle=seed, coding=coding,
    )  # fmt: skip
    path = _filmed(footage, folder / f"drive{seed}" / "ch1.mp4")
    return footage, path, _earlier(footage, seed + 500_000, path.with_suffix(".png"))


def real_key_pictures(seed: int, minutes: float, folder: Path) -> tuple[Footage, Path, Path]:
    """The same of real pictures, with the vehicle's parts in view in every second drive."""
    random = np.random.default_rng(seed)
    names = real_clips.LARGE
    name, parts = names[seed % len(names)], bool(seed // len(names) % 2)
    other = str(random.choice([other for other in names if other != name]))
    width, height = real_clips.size_of(name, other)
    coding = Coding(options=(*ONE, ("crf", str(int(random.integers(25, 34))))), key_every_s=1.0)
    footage = Footage(
        seed, name, 60 * minutes, (), width, height, 1 / KEYS_S,
        float(random.uniform(0.8, 2.2)), seed, coding, real_clips.FromFile(name, parts),
    )  # fmt: skip
    path = _filmed(footage, folder / f"drive{seed}" / "ch1.mp4")
    earlier = real_clips.FromFile(other, parts)
    return footage, path, _earlier(footage, seed + 500_000, path.with_suffix(".png"), earlier)


def false_alarms(
    seeds: range, minutes: float, folder: Path, drive: Filmer = key_pictures
) -> dict[str, object]:
    """Findings and unclear lines on good drives, one of ``minutes`` a seed."""
    alarms: list[str] = []
    doubts: Counter[str] = Counter()
    for seed in seeds:
        footage, path, earlier = drive(seed, minutes, folder)
        watch = PictureWatch(aim=True)
        with av.open(str(path)) as container:
            for number, frame in enumerate(container.decode(video=0)):
                luma = frame.to_ndarray(format="yuv420p")[: footage.height]
                watch.add(number * KEYS_S, np.ascontiguousarray(luma), limited=True)
        picture = Reference(np.asarray(cv2.imread(str(earlier), cv2.IMREAD_GRAYSCALE), np.uint8))
        found, unclear = watch.result(footage.seconds, picture)
        alarms += [f"seed {seed} {footage.world}: {f.kind.value} {f.start_s:.0f}" for f in found]
        doubts.update(f"{footage.world}: {line.split(':')[0]}" for line in unclear)
    hours = len(seeds) * minutes / 60
    return {
        "seeds": [seeds.start, seeds.stop - 1],
        "channel-hours": round(hours, 2),
        "key pictures a second": 1 / KEYS_S,
        "false alarms": alarms,
        "false alarms in 10 channel-hours": round(10 * len(alarms) / hours, 2),
        "unclear": dict(doubts),
    }


def main() -> None:
    """Measure, print and store; what was measured of other seeds stays in the file."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    hours = float(sys.argv[2]) if len(sys.argv) > 2 else 10.0
    parts = sys.argv[3:4] or ["tuning", "test"]
    cv2.setNumThreads(1)
    head: dict[str, object] = {
        "benchmark": "picture faults from key pictures",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "versions": {
            "asfound": VERSION,
            "python": platform.python_version(),
            "opencv": cv2.__version__,
            "numpy": np.__version__,
            "pyav": av.__version__,
            "ffmpeg": av.ffmpeg_version_info,
            "this file": hashlib.sha256(Path(__file__).read_bytes()).hexdigest()[:12],
        },
    }
    with tempfile.TemporaryDirectory() as passing:
        folder = Path(sys.argv[4] if len(sys.argv) > 4 else passing)
        for part in parts:
            first, real = FIRST_SEED[part], part.startswith("real")
            groups = EVERY if real else GROUPS
            drives, clips = round(hours * 6), count * (len(groups) + 1)
            if clips:
                seeds = range(first, first + clips)
                made = real_cases(seeds) if real else cases(seeds)
                _store(head, f"clips, {part} seeds", measure(seeds, made, folder))
            if drives:
                begin = first + (50_000 if real else 100_000)
                film = real_key_pictures if real else key_pictures
                seeds = range(begin, begin + drives)
                figures = false_alarms(seeds, 10.0, folder, film)
                _store(head, f"good drives, {part} seeds", figures)


def _store(head: dict[str, object], name: str, figures: dict[str, object]) -> None:
    print(name, json.dumps(figures, indent=1), flush=True)
    RESULTS.parent.mkdir(exist_ok=True)
    kept = json.loads(RESULTS.read_text()) if RESULTS.exists() else {}
    RESULTS.write_text(json.dumps({**kept, **head, name: figures}, indent=2) + "\n")


if __name__ == "__main__":
    main()
