"""A device that was let in from the local network."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Device:
    """A paired device; ``token_hash`` is the hex SHA-256 of the token that only it holds."""

    id: str
    name: str
    token_hash: str
    paired_at: datetime
