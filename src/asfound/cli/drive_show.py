"""Drives of the register on the terminal and as asfound-drives/1."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from asfound.cli import output
from asfound.jobs.drive_findings import where_text
from asfound.jobs.drive_label import KINDS
from asfound.jobs.drive_locks import Lock
from asfound.model.drive_register import DriveEvent, DriveFound, DriveState
from asfound.model.journal import rfc3339
from asfound.units import bytes_text

FORMAT = "asfound-drives/1"


PUT = {"bag": "put into a bag", "desk": "put on a desk", "store": "put into store"}


def drive_data(state: DriveState, locks: Sequence[Lock] = ()) -> dict[str, object]:
    """One drive in its documented form (docs/drives.md)."""
    judged, proof = state.judged, state.proof
    return {
        "serial": state.spelled,
        "id": state.id,
        "registered": state.registered,
        "kind": state.kind or None,
        "capacity_bytes": state.capacity_bytes or None,
        "model": state.model,
        "new": state.new,
        "place": state.place.value,
        "vehicle": state.vehicle or None,
        "holder": state.holder or None,
        "where": state.where,
        "since": _time(state.since),
        "stays": [
            {"vehicle": one.vehicle, "from": _time(one.start), "until": _time(one.end)}
            for one in state.stays
        ],
        "health": judged
        and {"verdict": judged.verdict, "notes": list(judged.notes), "taken": _time(judged.taken)},
        "wipes": [
            {
                "category": one.category.value, "method": one.method, "tool": one.tool,
                "verified_by": one.verified_by or None, "by": one.by, "when": rfc3339(one.when),
                "proves": one == proof,
            }
            for one in state.wipes
        ],
        "retired": state.retired_how or None,
        "locks": [{"by": one.by, "id": one.id, "why": one.why} for one in locks],
        "events": [event_data(one) for one in state.events],
    }  # fmt: skip


def event_data(event: DriveEvent) -> dict[str, object]:
    """One event: who, when, what, and which log or visit says it."""
    return {
        "at": rfc3339(event.at),
        "when": rfc3339(event.when),
        "by": event.by,
        "kind": event.kind,
        "log": None if event.visit else event.writer,
        "visit": event.visit or None,
        "data": dict(event.data),
    }


def found_data(found: DriveFound) -> dict[str, object]:
    """One finding."""
    return {
        "kind": found.kind,
        "serial": found.serial,
        "vehicle": found.vehicle or None,
        "since": _time(found.at),
        "note": found.note,
    }


def show_list(drives: Sequence[DriveState], zone: ZoneInfo) -> None:
    """A line for each drive."""
    if not drives:
        output.say("no drives; `asfound drive register SERIAL` takes one in")
        return
    output.table(
        ("drive", "id", "kind", "size", "where", "since", "health"),
        [
            (
                one.spelled, one.id, one.kind or "not registered",
                bytes_text(one.capacity_bytes) if one.capacity_bytes else "", where_text(one),
                _at(one.since, zone), one.judged.verdict if one.judged else "",
            )
            for one in drives
        ],
    )  # fmt: skip


def show_drive(state: DriveState, locks: Sequence[Lock], zone: ZoneInfo) -> None:
    """One drive, line by line, then its story."""
    size = f", {bytes_text(state.capacity_bytes)}" if state.capacity_bytes else ""
    kind = KINDS.get(state.kind, "drive")
    output.say(f"{state.spelled} [{state.id}]: {state.model or kind}{size}", style="bold")
    output.say(f"{where_text(state)}, since {_at(state.since, zone) or 'not known when'}")
    if state.judged:
        output.say(f"health: {state.judged.verdict} ({_at(state.judged.at, zone)})")
        for line in state.judged.notes:
            output.say(f"- {line}")
    proof = state.proof
    if proof:
        output.say(
            f"erased: {proof.category}, {proof.method}, {proof.tool}, verified by "
            f"{proof.verified_by} {_at(proof.when, zone)}"
        )
    for lock in locks:
        output.say(f"must not be wiped or retired: {lock.why}")
    output.table(
        ("when", "who", "what", "why", "said by"),
        [
            (
                _at(one.when, zone), one.by, _what(one), str(one.data.get("reason", "")),
                f"visit {one.visit}" if one.visit else one.writer,
            )
            for one in state.events
        ],
    )  # fmt: skip


def show_findings(found: Sequence[DriveFound], zone: ZoneInfo) -> None:
    """A line for each finding; serial numbers in capitals, as labels have them."""
    for one in found:
        since = f" ({_at(one.at, zone)})" if one.at else ""
        output.say(f"{one.kind}: {one.serial.upper()}: {one.note}{since}")


def _what(event: DriveEvent) -> str:
    data = event.data
    vehicle, where = str(data.get("vehicle", "")), str(data.get("where", ""))
    place = f", {where}" if where else ""
    said = {
        "registered": "registered" + (f", fitted in {vehicle}" if vehicle else ""),
        "seen": f"fitted in {vehicle} by the fleet file",
        "fitted": f"fitted in {vehicle}",
        "pulled": f"pulled from {vehicle}",
        "changed": f"a drive of {vehicle} swapped or formatted",
        "handed": f"handed to {data.get('to')} ({_signed(data)}){place}",
        "put": f"{PUT.get(str(data.get('place')), 'put somewhere')}{place}",
        "found": f"found{place}",
        "wiped": f"wiped: {data.get('category')}, {data.get('method')}, {_checked(data)}",
        "checked": f"judged {data.get('verdict')}",
        "retired": f"retired: {data.get('how')}",
    }
    return said.get(event.kind, event.kind)


def _signed(data: Mapping[str, Any]) -> str:
    return "signed with a picture" if data.get("picture") else "signed by name"


def _checked(data: Mapping[str, Any]) -> str:
    checked = str(data.get("verified_by", ""))
    return f"{data.get('tool')}, " + (f"verified by {checked}" if checked else "not verified")


def _time(at: datetime | None) -> str | None:
    return rfc3339(at) if at else None


def _at(at: datetime | None, zone: ZoneInfo) -> str:
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}" if at else ""
