"""Where a test writes: within its room, whole or in samples that miss no false size."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.drive_plan import MOST_SAMPLES, PlannedFile, Sizes, margin_of, plan_test
from asfound.units import GB, MIB, TB

SIZES = Sizes()


def written(plan: tuple[PlannedFile, ...]) -> int:
    return sum(len(file.pieces) for file in plan) * SIZES.piece


def test_margins() -> None:
    # Half of 64 GB's per cent, and never less than 16 MiB (own choice, computed by hand).
    assert margin_of(int(64 * GB)) == int(0.32 * GB)
    assert margin_of(MIB) == 16 * MIB


@given(st.integers(0, 4 * 10**12))
def test_all_of_the_room_and_no_more(room: int) -> None:
    plan = plan_test(room, SIZES, sampled=False)
    assert written(plan) == room // SIZES.piece * SIZES.piece
    at = 0
    for number, file in enumerate(plan):
        assert (file.number, file.start, file.pieces.start * SIZES.piece) == (number, at, at)
        # FAT32: a file ends at 4 GiB - 1.
        assert file.offset(file.pieces[-1], SIZES.piece) + SIZES.piece == file.length < 2**32
        at += file.length


@given(st.integers(1, 20 * 10**6), st.integers(1, 10**6))
def test_samples_overwrite_the_first_file_of_any_stick_that_counts_round(
    pieces: int, real: int
) -> None:
    plan = plan_test(pieces * SIZES.piece, SIZES, sampled=True)
    assert len(plan) <= MOST_SAMPLES
    first = plan[0]
    span = sum(file.length for file in plan)
    size = real * SIZES.piece
    if size + first.length > span or size < first.length:
        return
    # One of the samples falls into the first file when its place is counted round.
    assert any(file.start % size < first.length for file in plan[1:] if file.start >= size)


def test_samples_of_64_gigabytes() -> None:
    plan = plan_test(int(64 * GB), SIZES, sampled=True)
    assert written(plan) < 0.02 * 64 * GB
    assert written(plan_test(int(4 * TB), SIZES, sampled=True)) < 0.01 * 4 * TB


@pytest.mark.parametrize("sampled", [True, False])
def test_no_room(sampled: bool) -> None:
    assert plan_test(SIZES.piece - 1, SIZES, sampled) == ()
    [one] = plan_test(SIZES.piece, SIZES, sampled)
    assert (one.length, len(one.pieces)) == (SIZES.piece, 1)
