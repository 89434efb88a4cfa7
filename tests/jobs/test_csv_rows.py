"""Rows and columns of CSV. Source: RFC 4180; separators as spreadsheets write them (common
practice)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import AsfoundError, InputError, UsageError
from asfound.jobs.csv_rows import LONGEST_LINE, column_numbers, csv_rows, split_lines


@given(st.binary(max_size=200), st.integers(1, 50))
def test_lines_do_not_depend_on_how_they_come(data: bytes, size: int) -> None:
    whole = list(split_lines([data]))
    pieces = [data[start : start + size] for start in range(0, len(data), size)]
    assert list(split_lines(pieces)) == whole
    # bytes.splitlines knows the same three line ends.
    assert [line for line in whole if line.strip()] == [
        line for line in data.splitlines() if line.strip()
    ]


def test_a_line_without_end_takes_no_memory() -> None:
    made = list(split_lines(b"x" * 10_000 for _ in range(1000)))
    assert len(made) == 1 and len(made[0]) <= LONGEST_LINE + 10_000


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_separators_quotes_comments_and_marks(separator: str) -> None:
    lines = ["\ufefftime;lat", "# a word", "", '"1;2";3', "4;5"]
    text = [line.replace(";", separator).encode() for line in lines]
    rows = list(csv_rows(text, "log.csv"))
    assert rows == [(1, ["time", "lat"]), (4, [f"1{separator}2", "3"]), (5, ["4", "5"])]


def test_a_decimal_comma_is_no_separator() -> None:
    rows = list(csv_rows([b"t;v", b"1,5;2,5"], "log.csv"))
    assert rows[1] == (2, ["1,5", "2,5"])


def test_columns_by_name_or_number() -> None:
    head = ["Time", "lat", "lat", "v"]
    assert column_numbers({"time": "time", "speed": "4"}, head, "a") == (
        {"time": 0, "speed": 3},
        True,
    )
    assert column_numbers({"time": "1"}, ["5", "6"], "a") == ({"time": 0}, False)
    for wanted in ({"lat": "lat"}, {"lat": "5"}, {"lat": "0"}, {"lat": "north"}):
        with pytest.raises(UsageError, match="column"):
            column_numbers(wanted, head, "a")


def test_bytes_that_are_no_text() -> None:
    with pytest.raises(InputError, match=r"log\.csv:2: holds bytes"):
        list(csv_rows([b"a,b", b"\0\0"], "log.csv"))


@given(st.lists(st.binary(max_size=60), max_size=30))
def test_nothing_but_our_own_errors(lines: list[bytes]) -> None:
    try:
        for _, cells in csv_rows(lines, "log.csv"):
            assert all(isinstance(cell, str) for cell in cells)
    except AsfoundError:
        pass
