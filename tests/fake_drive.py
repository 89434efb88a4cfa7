"""Sticks of all kinds in memory, behind the port that tests of drives use (tests only).

Addresses are those of the whole stick: the file system takes ``used`` bytes in front, the test's
files follow one after the other as on an empty stick. ``real`` bytes hold what is written.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from asfound.calc.drive_places import Extent
from asfound.ports.drive_space import Cleared, DriveRefused, Past, Space, Why


@dataclass
class FakeStick:
    """``says``: total bytes by its label. Beyond ``real``: "round" (addresses begin anew), "zeros",
    "old" (what lay there before), "error" (refuses to read). ``flips``: addresses whose lowest bit
    is wrong when read. ``dies_after``: bytes written after which it answers no more.
    ``full_after``: bytes after which it says that it is full. ``bite``: most bytes of a write.
    ``bad``: addresses that cannot be read. ``keeps``: room without writing. ``slots``: where each
    file begins, instead of after the one before; ``tells``: whether it tells where they are."""

    says: int
    real: int | None = None
    beyond: str = "round"
    used: int = 0
    flips: tuple[int, ...] = ()
    bad: tuple[int, ...] = ()
    dies_after: int | None = None
    full_after: int | None = None
    bite: int | None = None
    keeps: bool = True
    system: bool = False
    slots: tuple[int, ...] = ()
    tells: bool = False
    old: bytes = b""
    written: int = 0
    ended: int = 0
    memory: bytearray = field(default_factory=bytearray)
    at: dict[int, int] = field(default_factory=dict)
    sizes: dict[int, int] = field(default_factory=dict)
    next: int = 0

    def __post_init__(self) -> None:
        self.real = self.says if self.real is None else self.real
        self.memory = bytearray(self.real)
        self.next = self.used

    @property
    def past(self) -> Past:
        return Past.DIRECT

    def begin(self) -> Cleared:
        return Cleared()

    def space(self) -> Space:
        return Space(self.says, self.says - self.used, self.system)

    def reserve(self, file: int, size: int) -> bool:
        if self.keeps:
            self._place(file)
            self.next = max(self.next, self.at[file] + size)
        return self.keeps

    def _place(self, file: int) -> int:
        """Where a file begins: after the one before, or in a slot of its own."""
        if file not in self.at:
            self.at[file] = self.slots[file] if self.slots else self.next
        return self.at[file]

    def write(self, file: int, offset: int, data: memoryview) -> int:
        count = len(data) if self.bite is None else min(len(data), self.bite)
        self._alive()
        if self.full_after is not None and self.written + count > self.full_after:
            raise DriveRefused("/media/stick: the disk is full", Why.FULL)
        start = self._place(file) + offset
        self.next = max(self.next, start + count)
        self._put(start, bytes(data[:count]))
        self.written += count
        self.sizes[file] = max(self.sizes.get(file, 0), offset + count)
        return count

    def _alive(self) -> None:
        if self.dies_after is not None and self.written >= self.dies_after:
            raise DriveRefused("/media/stick: the disk reports an input/output error", Why.FAULT)

    def _put(self, start: int, data: bytes) -> None:
        assert self.real is not None
        while data:
            if self.beyond == "round":
                begin = start % self.real
            elif start < self.real:
                begin = start
            else:
                return
            part = data[: self.real - begin]
            self.memory[begin : begin + len(part)] = part
            data, start = data[len(part) :], start + len(part)

    def settle(self, file: int) -> None:
        self._alive()

    def extents(self, file: int) -> list[Extent]:
        return [Extent(0, self.at[file], self.sizes[file])] if self.tells else []

    def read(self, file: int, offset: int, size: int) -> bytes:
        self._alive()
        size = min(size, self.sizes.get(file, 0) - offset)
        start = self.at[file] + offset
        for address in self.bad:
            if start <= address < start + size:
                raise DriveRefused(
                    "/media/stick: the disk reports an input/output error", Why.FAULT
                )
        got = self._get(start, size)
        for address in self.flips:
            if start <= address < start + size:
                got[address - start] ^= 1
        return bytes(got)

    def _get(self, start: int, size: int) -> bytearray:
        assert self.real is not None
        where = np.arange(start, start + size)
        memory = np.frombuffer(self.memory, np.uint8)
        if self.beyond == "round":
            return bytearray(memory[where % self.real].tobytes())
        there = where < self.real
        got = np.zeros(size, np.uint8)
        got[there] = memory[where[there]]
        if self.beyond == "old" and not there.all():
            old = np.frombuffer(self.old, np.uint8)
            got[~there] = old[where[~there] % len(old)]
        if self.beyond == "error" and not there.all():
            raise DriveRefused("/media/stick: the disk reports an input/output error", Why.FAULT)
        return bytearray(got.tobytes())

    def end(self) -> Cleared:
        self.ended += 1
        return Cleared(len(self.at))
