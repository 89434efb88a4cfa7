"""Blocks that know their place: what comes back is told from what was written."""

from __future__ import annotations

import zlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.drive_blocks import FEW_BITS, SECTOR, Came, compare_piece, make_piece

SECTORS = 4
SEED = 11


def piece(number: int = 3, seed: int = SEED) -> bytearray:
    return bytearray(make_piece(seed, number, SECTORS).tobytes())


def came(data: bytes | bytearray, number: int = 3) -> list[Came]:
    seen = compare_piece(SEED, number, SECTORS, bytes(data))
    return [Came(int(one)) for one in seen.came]


GOOD = [Came.GOOD] * 3


def test_a_piece_is_the_same_each_time_and_unlike_every_other() -> None:
    assert piece() == piece() != piece(4)
    assert piece(3, 12) != piece()
    sectors = {
        bytes(piece(n)[at : at + SECTOR]) for n in range(8) for at in range(0, 16384, SECTOR)
    }
    assert len(sectors) == 8 * SECTORS


def test_it_cannot_be_squeezed() -> None:
    # DEFLATE (RFC 1951) stores what it cannot squeeze; the heads are 32 of 4096 bytes.
    assert len(zlib.compress(bytes(piece()), 9)) > 0.99 * SECTORS * SECTOR


def test_the_content_of_another_place_tells_which() -> None:
    data = piece()
    data[SECTOR : 2 * SECTOR] = piece(9)[2 * SECTOR : 3 * SECTOR]
    assert came(data) == [Came.GOOD, Came.ELSEWHERE, Came.GOOD, Came.GOOD]
    seen = compare_piece(SEED, 3, SECTORS, bytes(data))
    assert seen.sources.tolist() == [12, 9 * SECTORS + 2, 14, 15]


def test_earlier_tests_blanks_and_noise() -> None:
    data = piece()
    data[:SECTOR] = piece(3, 12)[:SECTOR]
    data[SECTOR : 2 * SECTOR] = bytes(SECTOR)
    data[2 * SECTOR : 3 * SECTOR] = b"\xff" * SECTOR
    data[3 * SECTOR :] = np.random.default_rng(1).bytes(SECTOR)
    assert came(data) == [Came.EARLIER, Came.BLANK, Came.BLANK, Came.OTHER]


def test_a_head_that_lies() -> None:
    # The number of another sector without its check is not believed.
    data = piece()
    data[16:24] = (77).to_bytes(8, "little")
    data[100:1000] = bytes(900)
    assert came(data) == [Came.OTHER, *GOOD]


@given(st.sets(st.integers(0, SECTOR * 8 - 1), min_size=1, max_size=FEW_BITS))
def test_single_bits_are_counted(bits: set[int]) -> None:
    data = piece()
    for bit in bits:
        data[bit // 8] ^= 1 << bit % 8
    seen = compare_piece(SEED, 3, SECTORS, bytes(data))
    assert [Came(int(one)) for one in seen.came] == [Came.BITS, *GOOD]
    assert seen.bits == len(bits)


@pytest.mark.parametrize(("length", "missing"), [(0, 4), (1, 4), (SECTOR, 3), (4 * SECTOR - 1, 1)])
def test_what_is_short(length: int, missing: int) -> None:
    assert came(piece()[:length]) == [Came.GOOD] * (4 - missing) + [Came.MISSING] * missing


@given(st.binary(max_size=3 * SECTOR))
def test_any_bytes(data: bytes) -> None:
    seen = compare_piece(SEED, 3, SECTORS, data)
    assert len(seen.came) == len(seen.sources) == SECTORS
    assert Came.GOOD not in seen.came


@given(st.integers(0, 2**63), st.integers(0, 2**40))
def test_every_piece_comes_back(seed: int, number: int) -> None:
    data = make_piece(seed, number, 2).tobytes()
    assert not compare_piece(seed, number, 2, data).came.any()
