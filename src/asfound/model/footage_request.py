"""Requests for footage: who asks for what by which right, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class RequestState(StrEnum):
    """How far a request is."""

    OPEN = "open"
    ANSWERED = "answered"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class FootageRequest:
    """Footage of ``vehicle`` from ``start`` to ``end`` (aware, true time) on ``channels`` (() =
    all), ``why`` and by which ``authority``.

    ``clock_ahead_s``: how far the recorder's clock ran ahead [s], so that its own stamps are as
    much later. ``hold`` is the hold it placed, "" when it placed none; ``copies`` are names of
    copies that left the vehicle; ``note`` is the answer, then the reason of closing.
    """

    id: str
    vehicle: str
    start: datetime
    end: datetime
    channels: tuple[int, ...]
    why: str
    authority: str
    by: str
    at: datetime
    clock_ahead_s: float = 0.0
    hold: str = ""
    state: RequestState = RequestState.OPEN
    note: str = ""
    done_by: str = ""
    done_at: datetime | None = None
    copies: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Deleted:
    """That ``item`` (docs/requests.md) was deleted: everything in it up to ``at``."""

    item: str
    by: str
    note: str
    at: datetime


@dataclass(frozen=True, slots=True)
class ToDelete:
    """What must not be kept beyond ``due``; ``held`` are the holds that forbid its deletion."""

    item: str
    vehicle: str
    what: str
    due: datetime
    held: tuple[str, ...] = ()
