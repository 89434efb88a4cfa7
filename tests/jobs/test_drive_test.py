"""Tests of drives, on sticks in memory whose real size and faults are known.

What each stick does is set by the test (tests/fake_drive.py), so every expected figure is the
stick's own, not the judge's. That false sticks count round or forget is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.fake_drive import FakeStick

from asfound.calc.drive_blocks import SECTOR, make_piece
from asfound.calc.drive_plan import Sizes
from asfound.errors import Interrupted, UsageError
from asfound.jobs.drive_test import DriveTest, try_drive
from asfound.model.drive_check import Weight
from asfound.model.drive_test import DriveTested, DriveTestVerdict
from asfound.units import MIB

SIZES = Sizes(16 * SECTOR, MIB, MIB // 2)
REQUEST = DriveTest(7, sizes=SIZES)
MARGIN = 16 * MIB
FAULTY = DriveTestVerdict.FAULTY


class Watch:
    """A clock on which each look takes a millisecond."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def now(self) -> datetime:
        return datetime(2026, 11, 26, tzinfo=UTC)

    def steady(self) -> float:
        self.seconds += 0.001
        return self.seconds


def tried(stick: FakeStick, request: DriveTest = REQUEST) -> DriveTested:
    result = try_drive(request, space=stick, clock=Watch())
    assert stick.ended == 1
    return result


def kinds(result: DriveTested) -> list[str]:
    return [str(one.kind) for one in result.findings]


def test_a_stick_that_holds_what_it_says() -> None:
    stick = FakeStick(200 * MIB)
    result = tried(stick)
    assert (result.verdict, result.findings, result.real) == (DriveTestVerdict.SOUND, (), None)
    assert result.span == result.written == result.good == 200 * MIB - MARGIN
    assert result.write_rate is not None and result.read_rate is not None


@pytest.mark.parametrize("beyond", ["round", "zeros", "old"])
@pytest.mark.parametrize("used", [0, 3 * MIB])
def test_a_false_stick_and_its_real_size(beyond: str, used: int) -> None:
    # An earlier test with another seed lies beyond: blocks that know their place, but not ours.
    old = make_piece(99, 0, 256).tobytes()
    real = 9 * MIB + 12 * SECTOR
    result = tried(FakeStick(64 * MIB, real, beyond, used, old=old))
    kind = "counts-round" if beyond == "round" else "forgets"
    assert (result.verdict, kinds(result)) == (FAULTY, [kind])
    assert result.real == real
    assert result.findings[0].weight is Weight.FAILING
    assert result.written <= real + 2 * SIZES.file, "it stops where it begins to overwrite"


@given(
    st.permutations(range(44)),
    st.integers(20 * MIB // SECTOR, 40 * MIB // SECTOR),
    st.sampled_from(["round", "zeros"]),
    st.booleans(),
)
@settings(max_examples=30, deadline=None)
def test_places_tell_the_real_size_of_a_drive_that_is_not_filled_in_order(
    order: list[int], sectors: int, beyond: str, sampled: bool
) -> None:
    length = SIZES.sampled if sampled else SIZES.file
    slots = [2 * MIB + slot * MIB for slot in order]
    if sampled:
        slots = [at + half for at in slots for half in (0, length)]
    stick = FakeStick(60 * MIB, sectors * SECTOR, beyond, slots=tuple(slots), tells=True)
    result = tried(stick, replace(REQUEST, sampled=sampled))
    real = sectors * SECTOR
    if result.verdict is not FAULTY:
        assert sampled, "all of it was looked at"
        assert result.verdict is DriveTestVerdict.COULD_NOT_TELL
    elif beyond == "round":
        # Once round or, where the first that was seen lies further on, twice.
        assert result.real in (real, 2 * real)
    else:
        # The first place behind the end that was written to at all.
        ends = [(at, at + stick.sizes[file]) for file, at in stick.at.items()]
        assert result.real == min(max(at, real) for at, end in ends if end > real)


def test_a_false_stick_that_refuses_to_read_beyond() -> None:
    result = tried(FakeStick(64 * MIB, 9 * MIB, "error"))
    assert (result.verdict, kinds(result)) == (FAULTY, ["unreadable"])
    assert result.good == 9 * MIB, "all that is there was read"


@given(st.integers(2 * MIB // SECTOR, 40 * MIB // SECTOR), st.sampled_from(["round", "zeros"]))
@settings(max_examples=30, deadline=None)
def test_any_false_size_is_found(sectors: int, beyond: str) -> None:
    real = sectors * SECTOR
    result = tried(FakeStick(60 * MIB, real, beyond))
    assert (result.verdict, result.real) == (FAULTY, real)


@given(st.integers(2 * MIB // SECTOR, 42 * MIB // SECTOR), st.integers(0, MIB // SECTOR))
@settings(max_examples=40, deadline=None)
def test_samples_find_any_stick_that_counts_round(sectors: int, used: int) -> None:
    real = sectors * SECTOR
    sampled = replace(REQUEST, sampled=True)
    stick = FakeStick(62 * MIB, real, used=used * SECTOR)
    result = tried(stick, sampled)
    assert result.verdict is FAULTY and "counts-round" in kinds(result)
    assert result.real is not None and result.real % real == 0
    assert result.written < result.span / 4


def test_samples_of_a_true_stick_prove_its_size_and_no_more() -> None:
    result = tried(FakeStick(300 * MIB), replace(REQUEST, sampled=True))
    assert (result.verdict, result.findings) == (DriveTestVerdict.SIZE_TRUE, ())
    assert result.written < 40 * MIB
    with pytest.raises(UsageError, match="without samples"):
        tried(FakeStick(64 * MIB, keeps=False), replace(REQUEST, sampled=True))


def test_samples_that_a_file_system_scatters_prove_nothing() -> None:
    length, count = SIZES.sampled, 184 * MIB // SIZES.sampled
    in_order = tuple(number * length for number in range(count))
    # Two files side by side, then a gap of two: half of all distances do not occur.
    scattered = tuple((number // 2 * 4 + number % 2) * length for number in range(count))
    sampled = replace(REQUEST, sampled=True)
    sound = tried(FakeStick(200 * MIB, slots=in_order, tells=True), sampled)
    assert (sound.verdict, sound.unclear) == (DriveTestVerdict.SIZE_TRUE, ())
    doubtful = tried(FakeStick(200 * MIB, real=2 * 200 * MIB, slots=scattered, tells=True), sampled)
    assert doubtful.verdict is DriveTestVerdict.COULD_NOT_TELL
    assert "would be missed" in doubtful.unclear[0]


def test_samples_of_a_stick_that_forgets() -> None:
    result = tried(FakeStick(64 * MIB, 9 * MIB, "zeros"), replace(REQUEST, sampled=True))
    assert (result.verdict, kinds(result)) == (FAULTY, ["forgets"])
    assert result.real == pytest.approx(9 * MIB, abs=SIZES.sampled)


def test_single_bits() -> None:
    flips = (5 * MIB + 100, 5 * MIB + 101, 11 * MIB)
    result = tried(FakeStick(200 * MIB, flips=flips))
    assert (result.verdict, kinds(result)) == (FAULTY, ["damaged"])
    assert result.findings[0].measured == 2 * SECTOR and "3 single bits" in result.findings[0].note
    assert [(one.start, one.length) for one in result.bad] == [
        (5 * MIB, SECTOR), (11 * MIB, SECTOR),
    ]  # fmt: skip


def test_places_that_cannot_be_read() -> None:
    result = tried(FakeStick(200 * MIB, bad=(30 * MIB,)))
    assert (result.verdict, kinds(result)) == (FAULTY, ["unreadable"])
    assert result.findings[0].measured == SIZES.piece
    assert "input/output error" in result.findings[0].note


def test_a_stick_that_dies_midway() -> None:
    result = tried(FakeStick(64 * MIB, dies_after=5 * MIB))
    assert (result.verdict, kinds(result)) == (FAULTY, ["unreadable", "unwritable"])
    assert result.written == 5 * MIB and result.good == 0
    assert result.read == 8 * SIZES.piece, "it does not ask a dead stick forever"


def test_full_too_early() -> None:
    result = tried(FakeStick(64 * MIB, full_after=5 * MIB))
    assert (result.verdict, kinds(result)) == (FAULTY, ["full-early"])
    assert (result.findings[0].measured, result.findings[0].limit) == (5 * MIB, 48 * MIB)


def test_short_writes_are_told_and_finished() -> None:
    result = tried(FakeStick(200 * MIB, bite=SECTOR + 1))
    assert result.verdict is DriveTestVerdict.SOUND and kinds(result) == ["short-writes"]
    assert tried(FakeStick(64 * MIB, bite=0)).verdict is FAULTY


def test_a_part_is_no_proof() -> None:
    result = tried(FakeStick(64 * MIB), replace(REQUEST, most=5 * MIB))
    assert result.verdict is DriveTestVerdict.COULD_NOT_TELL and result.span == 5 * MIB
    assert "5.24 MB of 67.1 MB were looked at" in result.unclear[0]
    # The part lies within what the false stick really holds.
    hidden = tried(FakeStick(64 * MIB, 9 * MIB), replace(REQUEST, most=5 * MIB))
    assert hidden.verdict is DriveTestVerdict.COULD_NOT_TELL


def test_too_slow_for_what_it_is_for() -> None:
    result = tried(FakeStick(200 * MIB), replace(REQUEST, needs=1e12))
    assert kinds(result) == ["too-slow"] and result.verdict is DriveTestVerdict.SOUND
    assert not tried(FakeStick(200 * MIB), replace(REQUEST, needs=1.0)).findings


def test_no_room() -> None:
    stick = FakeStick(64 * MIB, used=50 * MIB)
    with pytest.raises(UsageError, match="no room for a test"):
        tried(stick)
    assert stick.ended == 1 and not stick.written


def test_the_disk_that_the_computer_runs_from_is_not_filled() -> None:
    stick = FakeStick(64 * MIB, system=True)
    with pytest.raises(UsageError, match="runs from this disk"):
        tried(stick)
    assert stick.ended == 1 and not stick.written
    assert tried(FakeStick(64 * MIB, system=True), replace(REQUEST, most=MIB)).written == MIB


@pytest.mark.parametrize("after", [1, 300, 800])
def test_stopped_midway_it_cleans_up(after: int) -> None:
    stick = FakeStick(64 * MIB)
    seen = []

    def progress(done: int, total: int, what: str) -> None:
        seen.append((done, total))
        if done == after:
            raise Interrupted("stopped")

    with pytest.raises(Interrupted):
        try_drive(REQUEST, space=stick, clock=Watch(), progress=progress)
    assert stick.ended == 1
    assert seen[-1] == (after, 2 * 48 * MIB // SIZES.piece)


def test_several_faults_at_once() -> None:
    real = 9 * MIB
    result = tried(FakeStick(64 * MIB, real, flips=(4 * MIB + 1,)))
    assert kinds(result) == ["counts-round", "damaged"] and result.real == real
