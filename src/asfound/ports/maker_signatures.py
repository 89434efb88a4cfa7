"""Signatures of makers of firmware: who signed an image, in the form that the maker uses."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from asfound.model.firmware import Trust


@dataclass(frozen=True, slots=True)
class Signed:
    """``content`` is the image; ``signature`` what was given with it, in the form of the trust;
    ``certificate``: PEM, the signer's first, then those between, or nothing."""

    content: bytes
    signature: bytes
    certificate: bytes = b""


class MakerSignatures(Protocol):
    """Checks one image against what is trusted of its maker."""

    def fault(self, trust: Trust, signed: Signed, now: datetime) -> str:
        """Why it does not hold, in one line; "" when the maker signed this content. ``now``
        (aware): when certificates must be valid, since a bare signature proves no time."""
        ...
