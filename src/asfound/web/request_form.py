"""The form for a request for footage, as the job takes it; a fault names its field."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from asfound.errors import AsfoundError, NotFound, UsageError
from asfound.jobs.footage_requests import AddRequest, AskedWrong
from asfound.jobs.visit_journal import named
from asfound.model.fleet import Fleet, Vehicle
from asfound.web.local_times import local_time

CHANNEL = re.compile(r"[1-9][0-9]{0,2}")


def add_request_of(form: Mapping[str, str], by: str, fleet: Fleet, writer: str) -> AddRequest:
    """The request; times without a zone are the fleet's. ``writer``: the home's tag in ids.
    Raises AskedWrong."""
    zone = ZoneInfo(fleet.time_zone)
    return AddRequest(
        _vehicle(form.get("vehicle", ""), fleet),
        _time("start", form, zone, 0),
        _time("end", form, zone, 1),
        channels_of(form.get("channels", "")),
        form.get("why", ""),
        form.get("authority", ""),
        _named(by),
        seconds_of(form.get("clock_ahead_s", "")),
        bool(form.get("hold")),
        writer,
    )


def part_of(error: Exception | None) -> str:
    """The field that an error is about; "" when it is about none."""
    return error.part if isinstance(error, AskedWrong) else ""


def channels_of(text: str) -> tuple[int, ...]:
    """Numbers with commas or blanks between them; nothing: every channel. Raises AskedWrong."""
    parts = re.split(r"[,;\s]+", text.strip()) if text.strip() else []
    if not all(CHANNEL.fullmatch(part) for part in parts):
        raise AskedWrong(
            "channels", f"{text!r} are no channels; write numbers with commas, or nothing for all"
        )
    return tuple(sorted({int(part) for part in parts}))


def seconds_of(text: str, part: str = "clock_ahead_s") -> float:
    """A number of seconds with its sign; nothing: 0. ``part``: the field. Raises AskedWrong."""
    bare = text.strip().replace(",", ".").replace("\u2212", "-")
    try:
        made = float(bare) if bare else 0.0
    except ValueError:
        made = math.nan
    if not math.isfinite(made):
        raise AskedWrong(part, f"{text!r} is no number of seconds")
    return made


def _vehicle(text: str, fleet: Fleet) -> Vehicle:
    if not text.strip():
        raise AskedWrong("vehicle", "say which vehicle: its fleet number or plate")
    try:
        return fleet.vehicle(text.strip())
    except NotFound as error:
        raise AskedWrong("vehicle", str(error)) from None


def _time(part: str, form: Mapping[str, str], zone: ZoneInfo, fold: int) -> datetime:
    try:
        return local_time(form.get(part, ""), zone, fold)
    except UsageError as error:
        raise AskedWrong(part, str(error)) from None


def _named(by: str) -> str:
    try:
        return named(by)
    except AsfoundError as error:
        raise AskedWrong("by", str(error)) from None
