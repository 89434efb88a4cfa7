"""Certificates and signatures that OpenSSL made: what it calls good holds, the rest is told."""

from __future__ import annotations

import base64
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.maker_signed import (
    BELOW,
    CA,
    ED,
    IMAGE,
    LEAF,
    MID,
    RSA,
    SHORT,
    SIGNED,
    STRANGER,
    WEB,
)

from asfound.ports.backends.x509_signature import x509_fault

NOW = datetime(2027, 1, 1, tzinfo=UTC)


def fault(certificate: bytes, name: str, trusted: bytes = CA, now: datetime = NOW) -> str:
    return x509_fault(trusted, certificate, (IMAGE, base64.b64decode(SIGNED[name])), now)


@pytest.mark.parametrize(
    ("certificate", "name"),
    [(LEAF + MID, "leaf"), (RSA, "rsa"), (ED, "ed"), (LEAF + MID + CA, "leaf")],
)
def test_what_openssl_signed_holds(certificate: bytes, name: str) -> None:
    assert fault(certificate, name) == ""


def test_a_signer_that_is_trusted_itself_needs_no_chain() -> None:
    assert fault(LEAF, "leaf", trusted=LEAF) == ""


@pytest.mark.parametrize(
    ("certificate", "name", "why"),
    [
        (RSA, "leaf", "its maker did not sign this file"),
        (LEAF + MID, "web", "its maker did not sign this file"),
        (ED, "rsa", "its maker did not sign this file"),
        (LEAF, "leaf", "does not lead to the trusted one"),
        (WEB + MID, "web", "is not for signing code"),
        # RFC 5280, 4.2.1.9: who is no CA issues nothing; so says `openssl verify`, error 79.
        (BELOW + LEAF + MID, "below", "may not issue others"),
        (SHORT, "short", "1024 bits, and 2048 are the least"),
        (MID + CA, "leaf", "is not for signatures"),
        (b"", "leaf", "is no PEM"),
        (LEAF[:200], "leaf", "is no PEM"),
    ],
)
def test_what_is_wrong_is_told(certificate: bytes, name: str, why: str) -> None:
    assert why in fault(certificate, name)


def test_another_root_is_not_trusted() -> None:
    assert "does not lead to the trusted one" in fault(LEAF + MID + CA, "leaf", trusted=STRANGER)


def test_validity_is_that_of_the_moment() -> None:
    # As printed by `openssl x509 -dates`: 26 November 2026 to 26 November 2027.
    late = fault(LEAF + MID, "leaf", now=datetime(2027, 11, 27, tzinfo=UTC))
    assert late == "the certificate 'CN=Tinbrook firmware' expired on 2027-11-26"
    early = fault(LEAF + MID, "leaf", now=datetime(2026, 11, 25, tzinfo=UTC))
    assert early == "the certificate 'CN=Tinbrook firmware' is valid from 2026-11-26"


@given(st.binary(max_size=80), st.binary(max_size=80))
def test_any_bytes_are_refused_in_one_line(certificate: bytes, signature: bytes) -> None:
    framed = b"-----BEGIN CERTIFICATE-----\n" + base64.b64encode(certificate)
    framed += b"\n-----END CERTIFICATE-----\n"
    for given_ in (certificate, framed):
        said = x509_fault(CA, given_, (IMAGE, signature), NOW)
        assert said and "\n" not in said
    said = x509_fault(CA, LEAF + MID, (IMAGE, signature), NOW)
    assert said == "its maker did not sign this file"
