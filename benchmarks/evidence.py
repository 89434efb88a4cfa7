"""Copying for evidence, and verifying, beside `cp` and hashing tools over the same file in one run.

    python benchmarks/evidence.py [--megabytes 512] [--times 3] [--folder DIR]

Ratios of throughput: above 1 is faster than the peer. Three ways of ours, each beside what does
as much: one pass (copy and hash, the flushes put out of action and the copy not read) beside `cp`
and a hash of the original; with the flushes, beside `cp`, `sync -d` and that hash; and whole, as
`asfound evidence copy` does it, with the copy read again, beside the same and a hash of the copy.
Hashing tools: `sha256sum`, which on some systems does not use the processor's instructions for
SHA-256, and `openssl dgst -sha256`, which does. Memory is the most that Python held in each act,
for the file and for one of an eighth of its size.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from asfound.ports.backends.bag_copying import Copier
from asfound.ports.backends.bag_disk import DiskBag, DiskNewBag

HASHING = {"cp and sha256sum": ("sha256sum",), "cp and openssl": ("openssl", "dgst", "-sha256")}


def seconds(act: Callable[[], object]) -> float:
    """How long it takes."""
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def held(act: Callable[[], object]) -> float:
    """The most memory Python held more than before [MB]."""
    tracemalloc.start()
    act()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def whole(source: Path, to: Path) -> None:
    """Copy, hash, flush, read again."""
    bag = DiskNewBag(to)
    bag.begin()
    bag.copy(source, "data/x")
    bag.settle()
    bag.drop()


def one_pass(source: Path, to: Path, flushed: bool) -> None:
    """Copy and hash; ``flushed``: and flush. The copy is not read."""
    puts = () if flushed else ("fsync", "fdatasync")
    real = {name: getattr(os, name) for name in puts}
    for name in puts:
        setattr(os, name, lambda handle: None)
    copier = Copier()
    handle = os.open(source, os.O_RDONLY)
    try:
        copier.copy(handle, source, to)
    finally:
        for name, call in real.items():
            setattr(os, name, call)
        os.close(handle)
        copier.close()
    to.unlink()


def peer(source: Path, to: Path, hashing: Sequence[str], flushed: bool, again: bool) -> None:
    """The same with tools."""
    subprocess.run(["cp", source, to], check=True)
    if flushed:
        subprocess.run(["sync", "-d", to], check=True)
    for path in (source, to) if again else (source,):
        subprocess.run([*hashing, path], check=True, stdout=subprocess.DEVNULL)
    to.unlink()


def ways(source: Path, folder: Path) -> dict[str, Callable[[], object]]:
    """What is timed, by name."""
    copy = folder / "copy"
    made: dict[str, Callable[[], object]] = {
        "ours, one pass": lambda: one_pass(source, copy, False),
        "ours, flushed": lambda: one_pass(source, copy, True),
        "ours, whole": lambda: whole(source, folder / "bag"),
        "ours, verify": lambda: DiskBag(folder).hashes(source.name, ("sha256",)),
    }
    for name, hashing in HASHING.items():
        if shutil.which(hashing[0]) is None:
            continue
        made[f"{name}, one pass"] = partial(peer, source, copy, hashing, False, False)
        made[f"{name}, flushed"] = partial(peer, source, copy, hashing, True, False)
        made[f"{name}, whole"] = partial(peer, source, copy, hashing, True, True)
        made[f"{name}, verify"] = partial(
            subprocess.run, [*hashing, source], check=True, stdout=subprocess.DEVNULL
        )
    return made


def main() -> None:
    """Prints a line for each figure."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--megabytes", type=int, default=512)
    parser.add_argument("--times", type=int, default=3)
    parser.add_argument("--folder", type=Path, default=None)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=asked.folder) as name:
        folder = Path(name)
        source, small = folder / "source", folder / "small"
        for path, count in ((source, asked.megabytes), (small, asked.megabytes // 8)):
            with path.open("wb") as stream:
                for _ in range(count):
                    stream.write(os.urandom(1 << 20))
        acts = ways(source, folder)
        took: dict[str, list[float]] = {name: [] for name in acts}
        for _ in range(asked.times):
            for name, act in acts.items():
                os.sync()
                took[name].append(seconds(act))
        best = {name: min(times) for name, times in took.items()}
        for name, time_s in best.items():
            who, _, what = name.partition(", ")
            beside = "" if who == "ours" else f", ours {time_s / best[f'ours, {what}']:.2f} of it"
            print(f"{name}: {asked.megabytes * 1.048576 / time_s:.0f} MB/s{beside}")
        for path in (small, source):
            copying = held(partial(whole, path, folder / "bag"))
            hashing = held(partial(DiskBag(folder).hashes, path.name, ("sha256",)))
            size = path.stat().st_size >> 20
            print(f"memory at {size} MiB: copy {copying:.1f} MB, verify {hashing:.1f} MB")


if __name__ == "__main__":
    main()
