"""Footage requests on the terminal and as asfound-requests/1."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from math import floor
from zoneinfo import ZoneInfo

from asfound.calc.wall_time import comes_twice
from asfound.cli import output
from asfound.jobs.request_where import FAR, Located
from asfound.model.footage_request import FootageRequest
from asfound.model.journal import rfc3339

Three = tuple[datetime, datetime, datetime]


def request_data(request: FootageRequest) -> dict[str, object]:
    """What was asked and what came of it (docs/requests.md)."""
    return {
        "id": request.id,
        "vehicle": request.vehicle,
        "from": rfc3339(request.start),
        "until": rfc3339(request.end),
        "channels": list(request.channels),
        "why": request.why,
        "authority": request.authority,
        "by": request.by,
        "at": rfc3339(request.at),
        "clock_ahead_s": request.clock_ahead_s,
        "hold": request.hold or None,
        "state": request.state.value,
        "note": request.note,
        "done_by": request.done_by or None,
        "done_at": rfc3339(request.done_at) if request.done_at else None,
        "copies": list(request.copies),
    }


def located_data(found: Located) -> dict[str, object]:
    """The request with where its footage is (docs/requests.md)."""
    return {
        **request_data(found.request),
        "drive": found.drive or None,
        "drive_fitted": found.fitted,
        "drive_place": found.place or None,
        "likely_there": found.likely_there,
        "overwritten_from": _three(found.begins),
        "overwritten_until": _three(found.ends),
        "recorder_from": rfc3339(found.recorder[0]),
        "recorder_until": rfc3339(found.recorder[1]),
        "notes": list(found.notes),
    }


def show_list(found: Sequence[Located], zone: ZoneInfo) -> None:
    """A table, what to do first on top."""
    if not found:
        output.say("no requests")
        return
    output.table(
        ("request", "vehicle", "from", "until", "state", "there", "may be gone from", "hold"),
        [
            (
                one.request.id, one.request.vehicle, _at(one.request.start, zone),
                _at(one.request.end, zone), one.request.state.value, chance(one.likely_there),
                _at(one.begins[0], zone) if one.begins else "", one.request.hold,
            )
            for one in found
        ],
    )  # fmt: skip


def show_one(found: Located, zone: ZoneInfo) -> None:
    """One request, line by line."""
    asked = found.request
    listed = ", ".join(str(number) for number in asked.channels) or "all"
    output.say(f"{asked.id}: vehicle {asked.vehicle}, channels {listed}", style="bold")
    output.say(f"from {_at(asked.start, zone)} until {_at(asked.end, zone)}: {asked.why}")
    output.say(f"for {asked.authority}, taken down by {asked.by}")
    if asked.done_by:
        output.say(f"{asked.state} by {asked.done_by}: {asked.note}")
    if asked.hold:
        output.say(f"held by {asked.hold}: drive steps of its visits are locked")
    if asked.clock_ahead_s:
        first, last = (_at(at, zone, seconds=True) for at in found.recorder)
        output.say(f"by the recorder's clock from {first} until {last}")
    place = "fitted now" if found.fitted else "no longer fitted"
    said = found.place or place
    output.say(f"drive {found.drive or 'of unknown serial number'}, {said}")
    output.say(f"still there: {chance(found.likely_there)}", style="bold")
    if found.begins and found.ends:
        output.table(
            ("overwritten", "earliest", "likely", "latest"),
            [
                ("its start", *(_at(at, zone) for at in found.begins)),
                ("its end", *(_at(at, zone) for at in found.ends)),
            ],
        )
    for line in found.notes:
        output.say(f"- {line}")


def chance(share: float | None) -> str:
    """Words for a likelihood; never better than it is."""
    if share is None:
        return "cannot be told"
    if share >= 1:
        return "yes"
    if share <= 0:
        return "no"
    return f"{max(1, floor(share * 100))} %"


def _three(each: Three | None) -> list[str] | None:
    return None if each is None else [rfc3339(at) for at in each]


def _at(at: datetime, zone: ZoneInfo, seconds: bool = False) -> str:
    if at >= FAR:
        return "never"
    shape = "%Y-%m-%d %H:%M:%S" if seconds else "%Y-%m-%d %H:%M"
    # Without its offset a time that comes twice would say neither which of them it is.
    return at.astimezone(zone).strftime(f"{shape} %z" if comes_twice(at, zone) else shape)
