"""Files with gaps, damage, a wrong size or a wrong rate, for benchmarks/prove.py.

Damage is what drives do to files: the end is missing, sectors read as zeros, sectors hold another
file's bytes, sectors are lost. Single flipped bytes are in benchmarks/fuzz_video.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import av
import numpy as np

from asfound.demo.footage import Camera, Coding, Drive, Fault, film
from asfound.jobs.prove import Prove, prove
from asfound.model.finding import Expectation, ExpectedChannel, Kind
from asfound.ports.pictures import Pictures
from asfound.ports.video import Video

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
SECONDS, RATE, SECTOR = 16.0, 12, 4096
FAULTS = (
    "gap between",
    "gap inside",
    "cut off",
    "zeros",
    "foreign",
    "lost",
    "size",
    "rate",
    "",
    "",
)
KINDS = (Kind.GAP, Kind.DAMAGED, Kind.WRONG_SIZE, Kind.WRONG_RATE)
TRUTH = {
    "gap between": Kind.GAP, "gap inside": Kind.GAP, "cut off": Kind.DAMAGED,
    "zeros": Kind.DAMAGED, "foreign": Kind.DAMAGED, "lost": Kind.DAMAGED,
    "size": Kind.WRONG_SIZE, "rate": Kind.WRONG_RATE,
}  # fmt: skip
LIMIT = "pause at the limit"
"""Whether it is told is a matter of rounding."""
EXPECTED = Expectation((ExpectedChannel(1, width=640, height=360, rate_fps=RATE),))
PATTERN = "cam{channel}_{start:%Y%m%dT%H%M%SZ}"


@dataclass(frozen=True)
class FileCase:
    """The files of one channel, what was done to them, and from when to when (gaps) [s]."""

    seed: int
    paths: tuple[Path, ...]
    fault: str
    span: tuple[float, float]


def file_case(
    seed: int, folder: Path, codings: Sequence[Coding], scenes: Sequence[str]
) -> FileCase:
    """One drive of one camera, with the fault that the seed says."""
    random = np.random.default_rng(seed)
    fault = FAULTS[seed % len(FAULTS)]
    first = round(random.uniform(3, 7) * RATE) / RATE
    last = round((first + random.uniform(3, 6)) * RATE) / RATE
    camera = Camera(
        1, "TEST", scenes[int(random.integers(len(scenes)))], 640, 360, RATE,
        noise=float(random.uniform(0.8, 2.6)),
        coding=codings[int(random.integers(len(codings)))],
    )  # fmt: skip
    if fault == "size":
        sizes = ((320, 192), (704, 576), (1280, 720))
        width, height = sizes[int(random.integers(len(sizes)))]
        camera = replace(camera, width=width, height=height)
    if fault == "rate":
        camera = replace(camera, rate=int(random.choice([6, 8, 15, 25])))
    if fault == "gap between":
        camera = replace(camera, faults=(Fault("gap", first, last),))
    paths = film(Drive(seed, START, SECONDS, (camera,)), folder / str(seed))
    if fault == "gap inside":
        beyond = _leave_out(paths[0], first, last) - EXPECTED.max_gap_s
        # From picture to picture it is one picture's length more than nothing is recorded for.
        fault = fault if beyond > 0 else LIMIT if beyond >= -1 / RATE - 1e-9 else "allowed pause"
    elif TRUTH.get(fault) is Kind.DAMAGED:
        _damage(paths[0], fault, random)
    return FileCase(seed, paths, fault, (first, last))


def _leave_out(path: Path, first: float, last: float) -> float:
    """Take the packets from the first key picture after ``first`` to the next after ``last``
    out, and keep the times of the others, as a recorder that was busy leaves them. Returns for
    how long nothing is recorded [s]."""
    left_out = 0
    whole = path.with_name(f"whole{path.suffix}")
    path.rename(whole)
    with av.open(str(whole)) as source, av.open(str(path), "w") as goal:
        goal.metadata.update(source.metadata)
        kept = goal.add_stream_from_template(source.streams.video[0])
        out = False
        origin: float | None = None
        latest = -100
        for packet in source.demux(source.streams.video[0]):
            if not packet.size:
                continue
            stamp = packet.pts if packet.pts is not None else packet.dts
            if packet.dts is None:
                packet.dts = latest + 1
            latest = packet.dts
            moment = float((stamp or 0) * (packet.time_base or 0))
            origin = moment if origin is None else origin
            if packet.is_keyframe:
                out = first <= moment - origin < last
            left_out += out
            if not out:
                packet.stream = kept
                goal.mux(packet)
    whole.unlink()
    return left_out / RATE


def _damage(path: Path, fault: str, random: np.random.Generator) -> None:
    data = bytearray(path.read_bytes())
    if fault == "cut off":
        path.write_bytes(data[: int(len(data) * random.uniform(0.3, 0.9))])
        return
    sectors = len(data) // SECTOR
    count = int(random.integers(2, 5))
    at = (
        int(random.integers(sectors // 4, max(sectors // 4 + 1, sectors * 3 // 4 - count))) * SECTOR
    )
    part = slice(at, at + count * SECTOR)
    length = len(data[part])
    data[part] = {"zeros": bytes(length), "foreign": random.bytes(length), "lost": b""}[fault]
    path.write_bytes(data)


def score_files(made: Sequence[FileCase], video: Video, pictures: Pictures) -> dict[str, object]:
    """Right, missed and wrong of each kind, and the seeds of what went wrong."""
    tally = {kind: {"faults": 0, "right": 0, "missed": 0, "wrong": 0} for kind in KINDS}
    wrong: list[str] = []
    for case in made:
        proof = prove(Prove(case.paths, EXPECTED, PATTERN), video=video, pictures=pictures)
        findings = [finding for _, finding in proof.findings()]
        found = {finding.kind for finding in findings} & set(KINDS)
        truth = TRUTH.get(case.fault)
        if truth is not None:
            right = truth in found
            tally[truth]["faults"] += 1
            tally[truth]["right" if right else "missed"] += 1
            if not right:
                wrong.append(f"{case.seed} {case.fault} in {case.paths[0].suffix}: missed")
        # Where bytes are missing, pictures are, too.
        explained = {Kind.GAP, Kind.WRONG_RATE} if truth is Kind.DAMAGED else set()
        explained |= {Kind.GAP} if case.fault == LIMIT else set()
        for kind in found - {truth} - explained:
            tally[kind]["wrong"] += 1
            wrong.append(f"{case.seed} {case.fault or 'good'} in {case.paths[0].suffix}: {kind}")
    return {
        "files": sum(len(case.paths) for case in made),
        "kinds": {
            kind.value: {**counts, "f1": f1(counts["right"], counts["missed"], counts["wrong"])}
            for kind, counts in tally.items()
        },
        "missed and wrong": wrong,
    }


def f1(right: int, missed: int, wrong: int) -> float | None:
    """Harmonic mean of precision and recall; None without faults and findings."""
    total = 2 * right + missed + wrong
    return round(2 * right / total, 3) if total else None


def no_trace(
    path: Path, scene: str, seconds: float, truth: Sequence[tuple[Kind, float, float]]
) -> bool:
    """Is a stuck picture shown of a scene that stood still, with fewer than two key pictures?"""
    if not truth or truth[0][0] is not Kind.FROZEN:
        return False
    _, first, last = truth[0]
    stands = scene.startswith("parked") or (scene == "stopping" and first >= 0.4 * seconds)
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        keys = [p.pts or p.dts or 0 for p in container.demux(stream) if p.size and p.is_keyframe]
        times = [float((key - keys[0]) * (stream.time_base or 0)) for key in keys]
    return stands and sum(first <= time < last for time in times) < 2


def edge_off(one: Sequence[float], two: Sequence[float]) -> float:
    """How far the farther of two edges lies from where it should [s]."""
    return max(abs(a - b) for a, b in zip(one, two, strict=True))
