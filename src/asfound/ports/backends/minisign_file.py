"""Signature files of minisign's form: two comments, and two signatures by Ed25519.

Source: minisign's public description of its files (jedisct1.github.io/minisign, "Signature format",
"Public key format"); Ed25519: RFC 8032; BLAKE2b: RFC 7693.
"""

from __future__ import annotations

import base64
import binascii
import hashlib

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

WHOLE, HASHED = b"Ed", b"ED"
"""Algorithms: signed is the file itself, or its BLAKE2b-512."""
KEY_BYTES, SIGNATURE_BYTES = 42, 74
"""Algorithm (2), key id (8), then the key (32) or the signature (64)."""
UNTRUSTED, TRUSTED = b"untrusted comment:", b"trusted comment: "
MOST_BYTES = 64 * 1024


def key_fault(public: str) -> str:
    """Why ``public`` is no public key line, or ""."""
    made = _decoded(public.encode("ascii", "replace"))
    if len(made) != KEY_BYTES or made[:2] != WHOLE:
        return "is no minisign public key: 56 characters of base64 that begin with RW"
    return ""


def minisign_fault(public: str, content: bytes, signature: bytes) -> str:
    """Why ``signature``, a whole signature file, is none of ``content`` by the key ``public`` (the
    base64 line of its file); "" when it is."""
    if fault := key_fault(public):
        return f"the key {fault}"
    lines = signature[:MOST_BYTES].replace(b"\r\n", b"\n").split(b"\n")
    if len(lines) < 4 or not lines[0].startswith(UNTRUSTED) or not lines[2].startswith(TRUSTED):
        return "the signature file is not of minisign's form"
    first, whole = _decoded(lines[1]), _decoded(lines[3])
    if len(first) != SIGNATURE_BYTES or len(whole) != 64:
        return "the signature file is not of minisign's form"
    key = _decoded(public.encode("ascii"))
    if first[:2] not in (WHOLE, HASHED):
        return f"the signature's algorithm {first[:2]!r} is not known"
    if first[2:10] != key[2:10]:
        return f"it is signed by key {_shown(first[2:10])}, and the maker's is {_shown(key[2:10])}"
    signer = Ed25519PublicKey.from_public_bytes(key[10:])
    message = hashlib.blake2b(content).digest() if first[:2] == HASHED else content
    if not _holds(signer, first[10:], message):
        return "its maker did not sign this file"
    if not _holds(signer, whole, first[10:] + lines[2][len(TRUSTED) :]):
        return "the signature's trusted comment was changed"
    return ""


def _holds(signer: Ed25519PublicKey, signature: bytes, message: bytes) -> bool:
    try:
        signer.verify(signature, message)
    except InvalidSignature:
        return False
    return True


def _decoded(line: bytes) -> bytes:
    try:
        return base64.b64decode(line.strip(), validate=True)
    except (binascii.Error, ValueError):
        return b""


def _shown(name: bytes) -> str:
    """A key id as minisign prints it: its eight bytes as one number, the least weighty first."""
    return f"{int.from_bytes(name, 'little'):016X}"
