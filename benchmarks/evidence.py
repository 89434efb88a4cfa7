"""Copying for evidence, and verifying, beside `cp` and `sha256sum` over the same file in one run.

    python benchmarks/evidence.py [--megabytes 512] [--times 3] [--folder DIR]

Ratios of throughput: above 1 is faster than the peer. The peer copies with `cp`, flushes with
`sync -d` and hashes original and copy with `sha256sum`, as ours hashes while it copies and reads
the copy again; also `cp` and one `sha256sum`, with nothing flushed and the copy not read. Memory
is the most that Python held in each act, for the file and for one of an eighth of its size.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from functools import partial
from pathlib import Path

from asfound.ports.backends.bag_disk import DiskBag, DiskNewBag


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


def ours(source: Path, to: Path) -> None:
    """Copy, hash, flush, read again."""
    bag = DiskNewBag(to)
    bag.begin()
    bag.copy(source, "data/x")
    bag.drop()


def peer(source: Path, to: Path, whole: bool) -> None:
    """The same with tools; not ``whole``: nothing flushed, one hash."""
    subprocess.run(["cp", source, to], check=True)
    if whole:
        subprocess.run(["sync", "-d", to], check=True)
        subprocess.run(["sha256sum", to], check=True, stdout=subprocess.DEVNULL)
    subprocess.run(["sha256sum", source], check=True, stdout=subprocess.DEVNULL)
    to.unlink()


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
        rounds = []
        for _ in range(asked.times):
            rounds.append(
                (
                    seconds(lambda: ours(source, folder / "bag")),
                    seconds(lambda: peer(source, folder / "copy", True)),
                    seconds(lambda: peer(source, folder / "copy", False)),
                    seconds(lambda: DiskBag(folder).hashes("source", ("sha256",))),
                    seconds(lambda: subprocess.run(
                        ["sha256sum", source], check=True, stdout=subprocess.DEVNULL
                    )),
                )
            )  # fmt: skip
        own, whole, bare, verify, hashed = (min(column) for column in zip(*rounds, strict=True))
        print(f"copy, hash, read again: {whole / own:.2f} of cp + sync + 2 x sha256sum")
        print(f"copy, hash, read again: {bare / own:.2f} of cp + sha256sum, nothing flushed")
        print(f"verify: {hashed / verify:.2f} of sha256sum")
        for path in (small, source):
            copying = held(partial(ours, path, folder / "bag"))
            hashing = held(partial(DiskBag(folder).hashes, path.name, ("sha256",)))
            size = path.stat().st_size >> 20
            print(f"memory at {size} MiB: copy {copying:.1f} MB, verify {hashing:.1f} MB")


if __name__ == "__main__":
    main()
