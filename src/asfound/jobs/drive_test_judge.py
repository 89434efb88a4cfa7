"""What a run over a drive's free space says of the drive."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from asfound.calc import drive_limits as limits
from asfound.calc.drive_blocks import SECTOR, Came
from asfound.calc.drive_capacity import (
    LOST,
    End,
    counts_round_at,
    distances,
    forgets_from,
    known,
    spans,
)
from asfound.calc.drive_places import blind_share
from asfound.calc.drive_plan import PlannedFile
from asfound.jobs.drive_test_run import Told
from asfound.model.drive_check import DriveFinding, Weight
from asfound.model.drive_test import BadSpan, DriveTested, DriveTestFault, DriveTestVerdict
from asfound.ports.drive_space import Past, Space
from asfound.units import MB, bytes_text

WHOLE = 0.9
"""Share of the drive that a run covers from which on its size is proven (own choice)."""
MOST_SPANS = 1000
"""Bad spans that are told one by one."""
ROUND_SHARE = 0.01
"""Share of sectors that come back elsewhere from which on a drive counts round (own choice)."""
FORGETS_SHARE = 0.01
"""Share of the run that is lost at its end from which on a drive forgets; less is damage (own
choice)."""
ROUND_LEAST = 16
"""Or so many of them, all as far away as each other."""
BLIND = 0.01
"""Share of false sizes that samples may miss (own choice)."""
CONTENT = limits.cited(limits.CAME_BACK)
WORDS = {
    Came.ELSEWHERE: "the content of another place",
    Came.EARLIER: "the content of an earlier test",
    Came.BLANK: "blank",
    Came.BITS: "a few wrong bits",
    Came.OTHER: "other content",
    Came.MISSING: "not readable",
}


@dataclass(frozen=True)
class Seen:
    """A run and what it was held against."""

    told: Told
    space: Space
    plan: Sequence[PlannedFile]
    sampled: bool
    needs: float | None
    past: Past

    @property
    def span(self) -> int:
        """Length of the planned run [bytes]."""
        return sum(file.length for file in self.plan)

    @property
    def wanted(self) -> int:
        """Bytes that were to be written."""
        first = self.plan[0]
        piece = first.length // len(first.pieces)
        return piece * sum(len(file.pieces) for file in self.plan)

    @cached_property
    def round_at(self) -> int | None:
        """Bytes after which the drive begins anew."""
        back, places = self.told.back, self.told.places
        count = int((back.came == Came.ELSEWHERE).sum())
        apart = distances(back, places)
        alike = count >= ROUND_LEAST and len(np.unique(apart)) == 1
        many = count >= ROUND_SHARE * back.read or self.told.stopped
        if not count or not (alike or many):
            return None
        at = counts_round_at(back, places, self.sampled)
        return None if at is None else min(at, self.space.total)

    @cached_property
    def forgets(self) -> End | None:
        """From where on the drive forgets."""
        if self.round_at is not None:
            return None
        end = forgets_from(self.told.back, self.told.places)
        enough = end is not None and (self.told.stopped or end.share >= FORGETS_SHARE)
        return end if enough else None

    @property
    def real(self) -> int | None:
        """What the drive holds; None: what it says, as far as was seen."""
        if self.round_at is not None:
            return self.round_at
        if self.forgets is None:
            return None
        if self.forgets.place is not None:
            return min(self.forgets.place, self.space.total)
        used = self.space.total - self.space.free
        return min(used + self.forgets.number * SECTOR, self.space.total)

    @property
    def beyond(self) -> NDArray[np.bool_]:
        """Which of the sectors that are not good lie where the drive forgets."""
        back, end = self.told.back, self.forgets
        if end is None:
            return np.zeros(len(back.numbers), bool)
        if end.place is None:
            return back.numbers >= end.number
        return self.told.places.of(back.numbers) * SECTOR >= end.place


def judge_test(seen: Seen) -> DriveTested:
    """Findings and verdict."""
    told, space = seen.told, seen.space
    findings = tuple(_findings(seen))
    unclear = tuple(_unclear(seen))
    if any(one.weight is not Weight.NOTE for one in findings):
        verdict = DriveTestVerdict.FAULTY
    elif unclear:
        verdict = DriveTestVerdict.COULD_NOT_TELL
    else:
        verdict = DriveTestVerdict.SIZE_TRUE if seen.sampled else DriveTestVerdict.SOUND
    bad = [BadSpan(start, length, WORDS[what]) for start, length, what in spans(told.back)]
    return DriveTested(
        verdict,
        space.total,
        space.free,
        seen.span,
        seen.sampled,
        told.written,
        told.back.read * SECTOR,
        told.back.good_bytes,
        seen.real,
        told.write_rate,
        told.read_rate,
        str(seen.past),
        tuple(bad[:MOST_SPANS]),
        findings,
        unclear,
    )


def _findings(seen: Seen) -> Iterator[DriveFinding]:
    yield from _size(seen)
    yield from _content(seen)
    yield from _refusals(seen)
    rate, needs = seen.told.write_rate, seen.needs
    if needs is not None and rate is not None and rate < needs:
        note = f"{rate / MB:.1f} MB/s were written, {needs / MB:.1f} are needed"
        asked = limits.cited(limits.ASKED)
        yield DriveFinding(
            DriveTestFault.TOO_SLOW, Weight.NOTE, rate / MB, needs / MB, "MB/s", asked, note
        )


def _size(seen: Seen) -> Iterator[DriveFinding]:
    real, total = seen.real, seen.space.total
    if real is None:
        return
    says, holds = bytes_text(total), bytes_text(real)
    if seen.round_at is not None:
        kind = DriveTestFault.COUNTS_ROUND
        note = (
            f"it says {says} and holds about {holds}: what is written beyond overwrites what was "
            "first; return it, record nothing on it"
        )
    else:
        kind = DriveTestFault.FORGETS
        note = (
            f"it says {says} and holds about {holds}: what is written beyond is lost; return it, "
            "record nothing on it"
        )
    yield DriveFinding(kind, Weight.FAILING, real, total, "bytes", CONTENT, note)


def _content(seen: Seen) -> Iterator[DriveFinding]:
    back = seen.told.back
    moved = back.came == Came.ELSEWHERE
    if moved.any() and seen.round_at is None:
        count = int(moved.sum()) * SECTOR
        note = f"{bytes_text(count)} came back with the content of another place"
        yield _bad(DriveTestFault.MISPLACED, count, note)
    damaged = np.isin(back.came, (*LOST, Came.BITS))
    damaged &= ~seen.beyond | (back.came == Came.BITS)
    if damaged.any():
        count = int(damaged.sum()) * SECTOR
        size, bits = bytes_text(count), seen.told.bits
        note = f"{size} came back damaged: do not trust it with recordings"
        if bits:
            note = (
                f"{size} came back damaged, {bits} single bits among them: do not trust it with "
                "recordings"
            )
        yield _bad(DriveTestFault.DAMAGED, count, note)
    missing = int((back.came == Came.MISSING).sum()) * SECTOR + seen.told.unread
    if seen.told.unreadable or missing > seen.told.unread:
        size, said = bytes_text(missing), seen.told.unreadable
        note = f"{size} could not be read back"
        if said:
            note = f"{size} could not be read back ({said})"
        yield _bad(DriveTestFault.UNREADABLE, missing, note)


def _bad(kind: DriveTestFault, count: int, note: str) -> DriveFinding:
    return DriveFinding(kind, Weight.SUSPECT, count, 0.0, "bytes", CONTENT, note)


def _refusals(seen: Seen) -> Iterator[DriveFinding]:
    told = seen.told
    if told.refused:
        note = f"after {bytes_text(told.written)} the drive refused to write ({told.refused})"
        yield DriveFinding(
            DriveTestFault.UNWRITABLE, Weight.SUSPECT, told.written, seen.wanted, "bytes",
            CONTENT, note,
        )  # fmt: skip
    if told.full_at is not None:
        note = (
            f"full after {bytes_text(told.full_at)}, though {bytes_text(seen.wanted)} and more "
            "were free: something else writes there, or its tables are damaged"
        )
        yield DriveFinding(
            DriveTestFault.FULL_EARLY, Weight.SUSPECT, told.full_at, seen.wanted, "bytes",
            limits.cited(limits.FREE_SPACE), note,
        )  # fmt: skip
    if told.short:
        note = f"{told.short} writes took less than they were given; the rest was written after"
        source = limits.cited(limits.WRITES)
        yield DriveFinding(
            DriveTestFault.SHORT_WRITES, Weight.NOTE, told.short, 0.0, "1", source, note
        )


def _unclear(seen: Seen) -> Iterator[str]:
    share = seen.span / max(seen.space.total, 1)
    if share < WHOLE:
        yield (
            f"{bytes_text(seen.span)} of {bytes_text(seen.space.total)} were looked at: what lies "
            "beyond is not known; test the drive empty and whole"
        )
    back, places = seen.told.back, seen.told.places
    if seen.sampled and known(back, places):
        missed = blind_share(places.of(back.pieces), back.sectors)
        if missed > BLIND:
            yield (
                f"samples lie so that {missed:.0%} of false sizes would be missed, because this "
                "file system scatters files: test without samples"
            )
    if seen.past is Past.UNSURE:
        yield "what was read may have come from the computer's memory; unplug it and test again"
