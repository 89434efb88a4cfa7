"""A file on its way from a phone: how much of it is here, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

MediaKind = Literal["photograph", "clip"]

UploadState = Literal["arriving", "waiting", "read", "failed", "kept"]
"""arriving: not all bytes are here; waiting: all are, to be read; read: it is in the journal;
failed: reading it was refused, ``note`` says why; kept: a recording that is here as a whole."""


@dataclass(frozen=True, slots=True)
class Upload:
    """One file of one visit, named by its content: ``sha256`` is announced before the bytes come.

    ``received`` of ``size`` bytes are here. ``kind`` is told by the content, "" until enough of
    it is here; a recording of the vehicle's own cameras is announced as one, because a damaged
    one is to be looked at, too. ``name`` is what the phone calls it: shown, and never part of a
    path.
    """

    id: str
    visit: str
    as_left: bool
    name: str
    size: int
    sha256: str
    by: str
    at: datetime
    kind: MediaKind | Literal["", "recording"] = ""
    state: UploadState = "arriving"
    note: str = ""
    received: int = 0
