"""Tags in ids: short, of signs that nobody confuses, and the same for the same key."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.writer_tag import SIGNS, tagged, writer_tag


@given(st.binary(min_size=32, max_size=32))
def test_a_tag_is_three_signs_that_are_told_apart(public: bytes) -> None:
    tag = writer_tag(public)
    assert len(tag) == 3 and set(tag) <= set(SIGNS) and tag == writer_tag(public)
    # Douglas Crockford's base 32 leaves i, l, o and u out for the same reason (from memory).
    assert not set(SIGNS) & set("01ilou")


def test_tags_are_spread_and_no_key_has_none() -> None:
    tags = {writer_tag(number.to_bytes(32, "big")) for number in range(1000)}
    # Birthday sum: 1000 draws of 27,000 meet 1000 x 999 / 2 / 27,000 = 18.5 times on average.
    assert len(tags) > 950
    assert writer_tag(b"") == ""
    assert tagged("217-261125", 1, "") == "217-261125-1"
    assert tagged("217-261125", 1, "k7f") == "217-261125-1-k7f"
