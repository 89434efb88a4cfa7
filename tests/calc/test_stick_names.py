"""Names on FAT and exFAT. Rules: Microsoft's specifications named in the module, from memory."""

from __future__ import annotations

from pathlib import PurePosixPath, PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.stick_names import (
    fits,
    joined,
    name_fault,
    path_fault,
    same_key,
    split,
)


@pytest.mark.parametrize("name", ["fw.img", "FW 2.10.IMG", ".hidden", "ümlaut.bin", "a" * 255])
def test_plain_names_are_kept(name: str) -> None:
    assert name_fault(name) == ""


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", "no name"),
        ("..", "no name"),
        ("a:b.img", "do not take"),
        ("a/b", "do not take"),
        ("what?.img", "do not take"),
        ("line\nbreak", "do not take"),
        ("raw\udcff.img", "no text"),
        ("fw.img.", "dropped"),
        ("fw.img ", "dropped"),
        ("con", "device"),
        ("LPT1.img", "device"),
        ("com¹", "device"),
        ("a" * 256, "longer than 255"),
        # Two UTF-16 units each: 128 of them are 256 (Unicode Standard 3.9, D91).
        ("\U0001f69b" * 128, "longer than 255"),
    ],
)
def test_names_that_a_stick_would_not_keep(name: str, says: str) -> None:
    assert says in name_fault(name)


@pytest.mark.parametrize(("name", "short"), [("M4-203.MFW", True), ("m4-203.firmware", False)])
def test_short_names(name: str, short: bool) -> None:
    assert (name_fault(name, short=True) == "") == short


@given(st.text(max_size=300))
def test_reserved_names_agree_with_the_standard_library(name: str) -> None:
    # Outside check: pathlib's own rule of Windows paths. It may know fewer names, never more.
    if not name_fault(name):
        assert not PureWindowsPath(name).is_reserved()
        assert PureWindowsPath(name).parts == (name,) == PurePosixPath(name).parts


@given(st.text(max_size=40))
def test_case_makes_no_difference_and_names_keep_their_length(name: str) -> None:
    assert same_key(same_key(name)) == same_key(name) and len(same_key(name)) == len(name)
    ascii_name = "".join(sign for sign in name if sign.isascii())
    assert same_key(ascii_name.lower()) == same_key(ascii_name.upper())


def test_case_clashes() -> None:
    assert same_key("Fw.Img") == same_key("fW.iMG") and same_key("é.img") == same_key("É.IMG")
    assert same_key("straße") != same_key("strasse")


@pytest.mark.parametrize(
    ("name", "pattern", "yes"),
    [
        ("m4-203.mfw", "m4-*.mfw", True),
        ("M4-203.MFW", "m4-*.mfw", True),
        ("m4-203.mfw.bak", "m4-*.mfw", False),
        ("a[1].img", "a[1].img", True),
        ("a1.img", "a[1].img", False),
        ("v2.img", "v?.img", True),
        ("v22.img", "v?.img", False),
    ],
)
def test_what_a_recorder_takes(name: str, pattern: str, yes: bool) -> None:
    assert fits(name, pattern) == yes


@given(st.text(min_size=1, max_size=40))
def test_every_name_fits_a_star_and_itself(name: str) -> None:
    assert fits(name, "*")
    if not set(name) & set("*?"):
        assert fits(name, name)


def test_paths() -> None:
    assert joined("", "a") == "a" and joined("a/b", "c") == "a/b/c"
    assert split("a/b/c") == ("a/b", "c") and split("c") == ("", "c")
    assert path_fault("") == path_fault("SERVICE/LOAD") == ""
    for bad in ("/etc", "../up", "a//b", "a/..", "a\\b", "a/", "nul/x"):
        assert path_fault(bad)
