"""Names of drives: serial numbers made alike, the register's id, what a label's code says."""

from __future__ import annotations

import hashlib
from urllib.parse import parse_qs, urlsplit

from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.drive_names import (
    ID,
    LONGEST,
    label_text,
    read_label,
    register_id,
    same_serial,
    serial_fault,
)

SERIALS = st.from_regex(r"[0-9A-Za-z][0-9A-Za-z._+:#-]{0,40}", fullmatch=True)


def test_a_serial_is_the_same_however_it_is_typed() -> None:
    assert same_serial(" TL-88301-C ") == same_serial("tl-883 01-c") == "tl-88301-c"
    assert same_serial("TL88301C") != same_serial("TL-88301-C")
    assert serial_fault("tl-88301-c") == ""
    for wrong in ("", "-a", "a/b", "a\\b", "../a", "ä1", "a" * (LONGEST + 1), "a%b"):
        assert serial_fault(wrong), wrong


@given(SERIALS)
def test_the_id_is_forty_bits_of_the_hash(serial: str) -> None:
    """By another way: the digits in base 32 of SHA-256's first ten figures."""
    name = same_serial(serial)
    made = register_id(name)
    assert ID.fullmatch(made)
    number = int(hashlib.sha256(name.encode()).hexdigest()[:10], 16)
    # Crockford's figures have the order of int()'s, with I, L, O, U left out (from memory).
    digits = made[2:].translate(str.maketrans("JKMNPQRSTVWXYZ", "IJKLMNOPQRSTUV"))
    assert int(digits, 32) == number


@given(SERIALS, st.text(max_size=40))
def test_a_label_says_what_it_was_made_of(serial: str, fleet: str) -> None:
    """Read by the standard library's URL parser (RFC 3986), and by our own reader."""
    fleet = fleet.encode("utf-8", "replace").decode("utf-8")
    text = label_text(same_serial(serial), serial, fleet)
    assert text.isascii()
    parts = urlsplit(text)
    told = parse_qs(parts.query, keep_blank_values=True)
    assert (parts.scheme, parts.path) == ("asfound-drive", "1")
    assert told["serial"] == [serial] and told["fleet"] == [fleet]
    assert read_label(text) == same_serial(serial)


def test_what_is_no_label_of_ours_is_none() -> None:
    good = label_text("s-1", "S-1", "F")
    assert read_label(good.replace("S-1", "S-2")) == ""
    assert read_label("https://example.org/?serial=S-1") == "" == read_label("")
