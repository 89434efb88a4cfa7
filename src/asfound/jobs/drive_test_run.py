"""One run over a drive's free space: what was written, what came back, how fast."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from asfound.calc.drive_blocks import Came, PieceRead, compare_piece, make_piece
from asfound.calc.drive_capacity import Back
from asfound.calc.drive_places import Extent, Places, places_of
from asfound.calc.drive_plan import PlannedFile, Sizes
from asfound.errors import UsageError
from asfound.ports.clock import Clock
from asfound.ports.drive_space import DriveRefused, DriveSpace, Past, Why
from asfound.ports.progress import Progress
from asfound.units import MB

MOST_BAD = 4_000_000
"""Sectors that did not come back, after which it is enough (16 GB; 70 MB of memory)."""
MOST_REFUSED = 8
"""Pieces in a row that the drive refuses to read, after which it is taken for gone (own choice)."""
ENOUGH_S = 0.05
"""Seconds of work from which a rate is a figure (own choice)."""
LOST = (Came.EARLIER, Came.BLANK)
"""What a drive gives back that is smaller than it says and forgets the rest."""
STRIKES = 2
"""Files in a row whose end is lost, after which it is no single damage (own choice)."""


@dataclass(frozen=True, slots=True)
class Told:
    """What a run has to tell. ``refused``: what the drive said, "" where it did not refuse;
    ``full_at`` [bytes written] where it was full before it should be (None: it was not);
    ``short``: writes that took less than they were given; ``stopped``: early, because the drive
    is smaller than it says; ``bits``: wrong bits in sectors with few of them."""

    written: int
    back: Back
    places: Places
    unread: int
    short: int
    full_at: int | None
    refused: str
    unreadable: str
    stopped: bool
    bits: int
    write_rate: float | None
    read_rate: float | None


class Run:
    """Writes and reads the planned files in turn."""

    def __init__(
        self, seed: int, sizes: Sizes, space: DriveSpace, clock: Clock, progress: Progress
    ) -> None:
        self._seed, self._sizes = seed, sizes
        self._space, self._clock, self._progress = space, clock, progress
        self._done: list[tuple[PlannedFile, range]] = []
        self._total = self._steps = 0
        self._short = 0
        self._full_at: int | None = None
        self._refused = self._unreadable = ""
        self._stopped = False
        self._strikes = 0
        self._write_s = self._read_s = 0.0
        self._read_bytes = self._unread = self._bits = 0
        self._extents: list[tuple[int, Sequence[Extent]]] = []
        self._pieces_read: list[int] = []
        self._bad: list[tuple[int, PieceRead]] = []

    def write(self, plan: Sequence[PlannedFile]) -> None:
        """Every file until the drive is full, refuses, or shows that it is smaller."""
        self._total = 2 * sum(len(file.pieces) for file in plan)
        for file in plan:
            written = self._file(file)
            if written:
                self._done.append((file, range(file.pieces.start, file.pieces.start + written)))
            if self._refused or self._full_at is not None:
                return
            if self._smaller():
                self._stopped = True
                return

    def _file(self, file: PlannedFile) -> int:
        """Pieces of a file that were written."""
        began, written = self._clock.steady(), 0
        try:
            self._keep(file)
            for number in file.pieces:
                self._piece(file, number)
                written += 1
                self._step("writing", written, self._clock.steady() - began)
            self._space.settle(file.number)
            self._extents.append((file.start, self._space.extents(file.number)))
        except DriveRefused as refused:
            if refused.why is Why.FULL:
                done = sum(len(pieces) for _, pieces in self._done) + written
                self._full_at = done * self._sizes.piece
            else:
                self._refused = str(refused)
        finally:
            self._write_s += self._clock.steady() - began
        return written

    def _keep(self, file: PlannedFile) -> None:
        """The room of a file that is not written whole. Raises UsageError where none is kept."""
        whole = len(file.pieces) * self._sizes.piece == file.length
        if not whole and not self._space.reserve(file.number, file.length):
            raise UsageError(
                "this file system keeps no room without writing it: test it without samples, or "
                "only a part of it"
            )

    def _piece(self, file: PlannedFile, number: int) -> None:
        data = make_piece(self._seed, number, self._sizes.sectors).reshape(-1).data
        offset = file.offset(number, self._sizes.piece)
        while data:
            count = self._space.write(file.number, offset, data)
            if count < len(data):
                self._short += 1
                if count <= 0:
                    raise DriveRefused(
                        "the drive takes nothing more and does not say why", Why.FAULT
                    )
            data, offset = data[count:], offset + count

    def _smaller(self) -> bool:
        """Whether what was written first is overwritten, or what was written last is lost again."""
        first, last = self._done[0], self._done[-1]
        try:
            came = self._look(first[0], first[1][0]).came
            ends = self._look(last[0], last[1][-1]).came
        except DriveRefused:
            return False
        self._strikes = self._strikes + 1 if np.isin(ends, LOST).any() else 0
        elsewhere = (came == Came.ELSEWHERE).any() or (ends == Came.ELSEWHERE).any()
        return bool(elsewhere) or self._strikes >= STRIKES

    def _look(self, file: PlannedFile, number: int) -> PieceRead:
        size = self._sizes.piece
        data = self._space.read(file.number, file.offset(number, size), size)
        return compare_piece(self._seed, number, self._sizes.sectors, data)

    def read(self) -> None:
        """Every piece that was written, until it is enough."""
        refused = done = bad = 0
        for file, number in self._pieces():
            began = self._clock.steady()
            try:
                seen = self._look(file, number)
                refused = 0
                self._read_bytes += self._sizes.piece
            except DriveRefused as error:
                refused += 1
                self._unreadable = self._unreadable or str(error)
                seen = compare_piece(self._seed, number, self._sizes.sectors, b"")
            self._read_s += self._clock.steady() - began
            done += 1
            wrong = int((seen.came != Came.GOOD).sum())
            if wrong:
                self._bad.append((number, seen))
                bad += wrong
            self._bits += seen.bits
            self._pieces_read.append(number * self._sizes.sectors)
            self._step("reading", done, self._read_s)
            if refused >= MOST_REFUSED or bad >= MOST_BAD:
                break
        self._unread = sum(len(pieces) for _, pieces in self._done) - done

    def _pieces(self) -> Iterator[tuple[PlannedFile, int]]:
        return ((file, number) for file, pieces in self._done for number in pieces)

    def _step(self, what: str, pieces: int, seconds: float) -> None:
        self._steps += 1
        rate = ""
        if seconds > ENOUGH_S:
            rate = f" {pieces * self._sizes.piece / seconds / MB:.0f} MB/s"
        self._progress(self._steps, self._total, f"{what}{rate}")

    def past(self) -> Past:
        """How reads came."""
        return self._space.past

    def told(self) -> Told:
        """All that was seen."""
        written = sum(len(pieces) for _, pieces in self._done) * self._sizes.piece
        return Told(
            written,
            self._back(),
            places_of(self._extents),
            self._unread * self._sizes.piece,
            self._short,
            self._full_at,
            self._refused,
            self._unreadable,
            self._stopped,
            self._bits,
            written / self._write_s if self._write_s > ENOUGH_S and written else None,
            self._read_bytes / self._read_s if self._read_s > ENOUGH_S else None,
        )

    def _back(self) -> Back:
        numbers, came, sources = [], [], []
        for number, seen in self._bad:
            at = np.flatnonzero(seen.came != Came.GOOD)
            numbers.append(at + number * self._sizes.sectors)
            came.append(seen.came[at])
            sources.append(seen.sources[at])
        none = np.zeros(0, np.int64)
        return Back(
            np.array(self._pieces_read, np.int64),
            self._sizes.sectors,
            np.concatenate([none, *numbers]),
            np.concatenate([none.astype(np.int8), *came]),
            np.concatenate([none, *sources]),
        )
