"""Wiping and retiring drives: recorded, never done, and locked while footage is needed.

The proof of erasure follows NIST SP 800-88 (Rev. 1, December 2014, sections 2.5, 4.7 and 4.8; Rev.
2, 2025, keeps its three categories; titles and numbers from memory): category, method, tool, and
who verified it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from asfound.errors import UsageError
from asfound.jobs.drive_acts import registered, said_when
from asfound.jobs.drive_locks import require_free
from asfound.jobs.drive_register import DriveDesk, write_drive
from asfound.jobs.visit_journal import named, reasoned, tidy
from asfound.model.drive_register import DriveState, Erasure, Place

STANDARD = "NIST SP 800-88"


@dataclass(frozen=True, slots=True)
class WipeDrive:
    """That somebody erased the drive: category, method and tool in words, ``verified_by`` who
    checked it ("": nobody did, which proves nothing)."""

    drive: str
    category: str
    method: str
    tool: str
    by: str
    reason: str
    verified_by: str = ""
    when: datetime | None = None


@dataclass(frozen=True, slots=True)
class RetireDrive:
    """The drive leaves for good: ``how`` says scrapped, sold, returned to the maker …"""

    drive: str
    how: str
    by: str
    reason: str
    when: datetime | None = None


def wipe_drive(request: WipeDrive, *, desk: DriveDesk) -> DriveState:
    """Write down that it was erased. Raises GateShut while it is fitted, or a hold or an open
    request is about what should be on it; UsageError, NotFound, StorageError, IntegrityError."""
    by, reason = named(request.by), reasoned(request.reason)
    category, method, tool = tidy(request.category).casefold(), tidy(request.method), request.tool
    if category not in list(Erasure):
        raise UsageError(f"--category {category!r}: choose one of {', '.join(Erasure)}")
    if not method or not tidy(tool):
        raise UsageError("say how it was erased and with what: --method TEXT --tool TEXT")
    state = registered(request.drive, desk)
    data = {
        "standard": STANDARD, "category": category, "method": method, "tool": tidy(tool),
        "verified_by": tidy(request.verified_by), "reason": reason,
        **said_when(request.when, state, desk.clock),
    }  # fmt: skip
    # Looked at last: a hold may have been placed while somebody typed.
    require_free(state, "wiped", store=desk.store, requests=desk.requests)
    return write_drive(desk, state, by, "wiped", data)


def retire_drive(request: RetireDrive, *, desk: DriveDesk) -> DriveState:
    """Write down that it left for good; without a proof of erasure it stays a finding. Raises as
    ``wipe_drive``."""
    by, reason, how = named(request.by), reasoned(request.reason), tidy(request.how)
    if not how:
        raise UsageError("say how it leaves: --how TEXT, e.g. scrapped")
    state = registered(request.drive, desk)
    if state.place is Place.GONE:
        raise UsageError(f"drive {state.spelled} was retired by {state.retired_by} already")
    data = {"how": how, "reason": reason, **said_when(request.when, state, desk.clock)}
    require_free(state, "retired", store=desk.store, requests=desk.requests)
    return write_drive(desk, state, by, "retired", data)
