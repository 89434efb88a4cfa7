"""Signature files that minisign 0.11 made: right ones hold, and each way of being wrong is told."""

from __future__ import annotations

import base64

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.maker_signed import HASHED, IMAGE, KEY, OTHER, WHOLE

from asfound.ports.backends.minisign_file import key_fault, minisign_fault


@pytest.mark.parametrize("made", [HASHED, WHOLE, HASHED.replace(b"\n", b"\r\n")])
def test_what_minisign_signed_holds(made: bytes) -> None:
    assert minisign_fault(KEY, IMAGE, made) == ""


@pytest.mark.parametrize("made", [HASHED, WHOLE])
def test_another_image_does_not(made: bytes) -> None:
    assert minisign_fault(KEY, IMAGE + b"!", made) == "its maker did not sign this file"


def test_another_key_is_named() -> None:
    # The ids are those that minisign printed into its own key files.
    said = minisign_fault(KEY, IMAGE, OTHER)
    assert said == ("it is signed by key DC3800FDC4AD54A1, and the maker's is 6E1D14FA5CD09BBD")


def test_a_changed_trusted_comment_is_told() -> None:
    made = HASHED.replace(b"trusted comment: mf4_2_03.bin", b"trusted comment: mf4_9_99.bin")
    assert made != HASHED
    assert minisign_fault(KEY, IMAGE, made) == "the signature's trusted comment was changed"
    # The untrusted one is just that.
    assert minisign_fault(KEY, IMAGE, HASHED.replace(b"secret key", b"a friend")) == ""


def _with_algorithm(name: bytes) -> bytes:
    lines = HASHED.split(b"\n")
    lines[1] = base64.b64encode(name + base64.b64decode(lines[1])[2:])
    return b"\n".join(lines)


def test_algorithms() -> None:
    assert "algorithm b'XX' is not known" in minisign_fault(KEY, IMAGE, _with_algorithm(b"XX"))
    # A hashed signature is none of the file itself.
    assert "did not sign" in minisign_fault(KEY, IMAGE, _with_algorithm(b"Ed"))


@pytest.mark.parametrize("made", [b"", b"\n\n\n\n", IMAGE, HASHED[:80], HASHED.replace(b"R", b"?")])
def test_what_is_no_signature_file_is_told(made: bytes) -> None:
    assert minisign_fault(KEY, IMAGE, made) == "the signature file is not of minisign's form"


@pytest.mark.parametrize("key", ["", "RW", KEY[:-4], "untrusted comment: x", "Ä" * 56])
def test_what_is_no_key_is_told(key: str) -> None:
    assert key_fault(key).startswith("is no minisign public key")
    assert minisign_fault(key, IMAGE, HASHED) != ""


@given(st.binary(max_size=400), st.integers(0, len(HASHED) - 1), st.integers(1, 255))
def test_any_bytes_are_one_line_or_right(made: bytes, at: int, change: int) -> None:
    assert "\n" not in minisign_fault(KEY, IMAGE, made) != ""
    spoiled = bytearray(HASHED)
    spoiled[at] ^= change
    assert "\n" not in minisign_fault(KEY, IMAGE, bytes(spoiled))
