"""Ed25519 against RFC 8032 section 7.1, and the key that a home folder keeps."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import InputError
from asfound.ports.backends.signatures_ed25519 import Ed25519, FileKeys

# RFC 8032 section 7.1, TEST 1: the empty message.
SECRET = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
PUBLIC = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
SIGNED = bytes.fromhex(
    "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b"
    "d25bf5f0595bbe24655141438e7a100b"
)

# Section 7.1, TEST 2 and 3: secret, public and signature as far as they are cited; the inputs are
# from memory, so that beginnings and ends alone are held against them.
SHORT = [
    ("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
     "72", "3d4017c3", "660c", "92a009a9f0d4cab8", "0c00"),
    ("c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
     "af82", "fc51cd8e", "8025", "6291d657deec2402", "c40a"),
]  # fmt: skip


def test_the_first_vector_of_the_rfc() -> None:
    pair = Ed25519().pair(SECRET)
    assert pair.public == PUBLIC
    assert Ed25519().sign(SECRET, b"") == SIGNED
    assert Ed25519().verify(PUBLIC, b"", SIGNED)


@pytest.mark.parametrize(("secret", "message", "begins", "ends", "sign", "end"), SHORT)
def test_the_short_vectors_of_the_rfc(
    secret: str, message: str, begins: str, ends: str, sign: str, end: str
) -> None:
    pair = Ed25519().pair(bytes.fromhex(secret))
    signed = Ed25519().sign(pair.secret, bytes.fromhex(message)).hex()
    assert pair.public.hex().startswith(begins) and pair.public.hex().endswith(ends)
    assert signed.startswith(sign) and signed.endswith(end)


@given(st.binary(max_size=200), st.integers(0, 511))
def test_one_bit_of_a_signature_and_it_is_refused(message: bytes, bit: int) -> None:
    signed = bytearray(Ed25519().sign(SECRET, message))
    assert Ed25519().verify(PUBLIC, message, bytes(signed))
    signed[bit // 8] ^= 1 << bit % 8
    assert not Ed25519().verify(PUBLIC, message, bytes(signed))
    assert not Ed25519().verify(PUBLIC, message + b"x", SIGNED)


@pytest.mark.parametrize("odd", [b"", b"\0" * 31, b"\xff" * 32, b"\0" * 33])
def test_what_is_no_key_verifies_nothing(odd: bytes) -> None:
    assert not Ed25519().verify(odd, b"", SIGNED)
    assert not Ed25519().verify(PUBLIC, b"", odd)


def test_the_own_key_is_made_once_for_its_owner_alone(tmp_path: Path) -> None:
    path = tmp_path / "home" / "signing.key"
    made = FileKeys(path).own()
    assert FileKeys(path).own() == made
    assert path.stat().st_mode & 0o777 == 0o600
    assert [one.name for one in path.parent.iterdir()] == ["signing.key"]
    assert made.secret.hex() not in repr(made)


def test_a_key_that_others_may_read_or_that_is_none_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "signing.key"
    FileKeys(path).own()
    path.chmod(0o640)
    with pytest.raises(InputError, match="others may read"):
        FileKeys(path).own()
    path.chmod(0o600)
    path.write_text("no key")
    with pytest.raises(InputError, match="no secret key"):
        FileKeys(path).own()
