"""A home's short tag in the ids that it makes, so that two homes never make the same one."""

from __future__ import annotations

import hashlib

SIGNS = "23456789abcdefghjkmnpqrstvwxyz"
"""Without 0, 1, i, l, o and u: none is taken for another on paper or over a telephone."""

SIGN_COUNT = 3
"""27,000 tags: of ten homes two share one in 1 of 600 fleets, and even then a merge keeps both."""


def writer_tag(public: bytes) -> str:
    """The tag of a public key, e.g. ``k7f``; "" for no key."""
    if not public:
        return ""
    number = int.from_bytes(hashlib.sha256(public).digest()[:8], "big")
    signs = ""
    for _ in range(SIGN_COUNT):
        number, place = divmod(number, len(SIGNS))
        signs += SIGNS[place]
    return signs


def tagged(stem: str, counter: int, tag: str) -> str:
    """An id: ``217-261125-1``, and where the home has a tag ``217-261125-1-k7f``."""
    return f"{stem}-{counter}-{tag}" if tag else f"{stem}-{counter}"
