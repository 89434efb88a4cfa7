"""CSV: read back by Python's csv module (RFC 4180's rules), formulas disarmed (OWASP's list)."""

from __future__ import annotations

import csv
import io
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.safe_csv import csv_text, safe

TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)


@pytest.mark.parametrize("text", ["=1+1", "+3", "-cmd", "@SUM(A1)", "\tx", "\rx", "  =A1", "＝1"])
def test_what_begins_a_formula_is_disarmed(text: str) -> None:
    assert safe(text) == "'" + text


@pytest.mark.parametrize("text", ["ch1.mp4", "a=b", "1-2", "'=x", ""])
def test_other_text_stays(text: str) -> None:
    assert safe(text) == text


def test_the_form_is_that_of_rfc_4180() -> None:
    made = csv_text(("file", "note"), [('say "a"', "b,c"), ("x\ny", None), ("n", -2.5)])
    assert made == 'file,note\r\n"say ""a""","b,c"\r\n"x\ny",\r\nn,-2.5\r\n'


@given(st.lists(st.tuples(TEXT, TEXT), max_size=5))
def test_every_text_comes_back(rows: list[tuple[str, str]]) -> None:
    made = csv_text(("a", "b"), rows)
    back = list(csv.reader(io.StringIO(made, newline="")))
    assert back == [["a", "b"], *([safe(a), safe(b)] for a, b in rows)]
    for row in back[1:]:
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)


@given(st.floats(-1e9, 1e9))
def test_numbers_come_back_to_six_decimals(number: float) -> None:
    assert math.isclose(float(safe(number)), number, abs_tol=5.1e-7)
