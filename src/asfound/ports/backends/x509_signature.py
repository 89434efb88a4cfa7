"""A plain signature over an image by the key of a certificate, whose chain ends at a trusted one.

Source: RFC 5280, 4.2.1.3 (key usage), 4.2.1.9 (basic constraints), 6.1 (path validation), of which
this keeps: names and signatures chain, validity at the moment, CA and path length, key usage. There
is no look at revocation, names and policies: critical extensions beyond those here are refused.
Signatures as `openssl dgst -sha256 -sign` and `openssl pkeyutl -sign -rawin` make them.
"""

from __future__ import annotations

from datetime import UTC, datetime

from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.x509.oid import ExtendedKeyUsageOID

LEAST_RSA_BITS = 2048
"""NIST SP 800-131A rev. 2 (2019), section 3: shorter RSA keys are not for signatures any more."""
FOR_CODE = frozenset({ExtendedKeyUsageOID.CODE_SIGNING, ExtendedKeyUsageOID.ANY_EXTENDED_KEY_USAGE})
"""Where a certificate says what it is for, it must be this (RFC 5280, 4.2.1.12)."""


def x509_fault(
    trusted: bytes, certificate: bytes, signed: tuple[bytes, bytes], now: datetime
) -> str:
    """Why ``signed`` (content, signature) is not by ``certificate`` under one of ``trusted`` (both
    PEM); "" when it is. ``now``: aware; when every certificate must be valid."""
    try:
        roots = x509.load_pem_x509_certificates(trusted)
        chain = x509.load_pem_x509_certificates(certificate)
    except ValueError:
        return "the certificate file is no PEM"
    try:
        fault = _chain_fault(chain, roots, now)
        return fault or _signature_fault(chain[0], *signed)
    except (ValueError, UnsupportedAlgorithm, x509.DuplicateExtension):
        return "a certificate cannot be understood"


def _chain_fault(
    chain: list[x509.Certificate], roots: list[x509.Certificate], now: datetime
) -> str:
    used = [chain[0]]
    while used[-1] not in roots:
        last = used[-1]
        issuer = next(
            (one for one in (*roots, *chain) if one not in used and _issued(last, one)), None
        )
        if issuer is None:
            return f"the certificate {_name(last)} does not lead to the trusted one"
        used.append(issuer)
    for depth, one in enumerate(used):
        if fault := _one_fault(one, depth, now):
            return fault
    return ""


def _issued(one: x509.Certificate, issuer: x509.Certificate) -> bool:
    try:
        one.verify_directly_issued_by(issuer)
    except (InvalidSignature, ValueError, TypeError):
        return False
    return True


def _one_fault(one: x509.Certificate, depth: int, now: datetime) -> str:
    """``depth``: how many certificates of the chain come before this one; 0 is the signer's."""
    moment = now.astimezone(UTC)
    if moment > one.not_valid_after_utc:
        return f"the certificate {_name(one)} expired on {one.not_valid_after_utc:%Y-%m-%d}"
    if moment < one.not_valid_before_utc:
        return f"the certificate {_name(one)} is valid from {one.not_valid_before_utc:%Y-%m-%d}"
    known = (x509.BasicConstraints, x509.KeyUsage, x509.ExtendedKeyUsage)
    if any(item.critical and not isinstance(item.value, known) for item in one.extensions):
        return f"the certificate {_name(one)} has a critical extension that is not understood"
    return _signer_fault(one) if depth == 0 else _issuer_fault(one, depth)


def _signer_fault(one: x509.Certificate) -> str:
    for item in one.extensions:
        value = item.value
        if isinstance(value, x509.KeyUsage) and not value.digital_signature:
            return f"the certificate {_name(one)} is not for signatures"
        if isinstance(value, x509.ExtendedKeyUsage) and not FOR_CODE & set(value):
            return f"the certificate {_name(one)} is not for signing code"
    return ""


def _issuer_fault(one: x509.Certificate, depth: int) -> str:
    length, issues = None, False
    for item in one.extensions:
        value = item.value
        if isinstance(value, x509.BasicConstraints):
            issues, length = value.ca, value.path_length
        if isinstance(value, x509.KeyUsage) and not value.key_cert_sign:
            return f"the certificate {_name(one)} may not issue others"
    if not issues:
        return f"the certificate {_name(one)} may not issue others"
    if length is not None and depth - 1 > length:
        return f"the certificate {_name(one)} may not issue so long a chain"
    return ""


def _signature_fault(signer: x509.Certificate, content: bytes, signature: bytes) -> str:
    key = signer.public_key()
    try:
        if isinstance(key, rsa.RSAPublicKey):
            if key.key_size < LEAST_RSA_BITS:
                return f"the key has {key.key_size} bits, and {LEAST_RSA_BITS} are the least"
            key.verify(signature, content, padding.PKCS1v15(), hashes.SHA256())
        elif isinstance(key, ec.EllipticCurvePublicKey):
            key.verify(signature, content, ec.ECDSA(hashes.SHA256()))
        elif isinstance(key, Ed25519PublicKey):
            key.verify(signature, content)
        else:
            return "the certificate's kind of key is not read: RSA, EC and Ed25519 are"
    except InvalidSignature:
        return "its maker did not sign this file"
    return ""


def _name(one: x509.Certificate) -> str:
    return repr(one.subject.rfc4514_string())
