"""Forms about drives, as the jobs take them."""

from __future__ import annotations

from collections.abc import Mapping
from zoneinfo import ZoneInfo

from asfound.errors import AsfoundError, NotFound, UsageError
from asfound.jobs.drive_acts import RegisterDrive
from asfound.model.fleet import Fleet, Vehicle
from asfound.units import BYTES, parse_quantity
from asfound.web.driving import DriveAct
from asfound.web.local_times import local_time
from asfound.web.step_pages import N_


class DriveWrong(UsageError):
    """What stands in the field ``part`` cannot be."""

    def __init__(self, part: str, line: str) -> None:
        super().__init__(line)
        self.part = part


def part_of(error: Exception | None) -> str:
    """The field that an error is about; "" when it is about none."""
    return error.part if isinstance(error, DriveWrong) else ""


def register_of(form: Mapping[str, str], by: str, fleet: Fleet) -> RegisterDrive:
    """The drive that a form registers. Raises DriveWrong."""
    if not form.get("serial", "").strip():
        raise DriveWrong("serial", N_("say its serial number, as its label has it"))
    if not by.strip():
        raise DriveWrong("by", N_("say who did it: your name"))
    return RegisterDrive(
        form.get("serial", ""),
        form.get("kind", ""),
        bytes_of(form.get("size", "")),
        by,
        form.get("model", ""),
        _vehicle(form.get("vehicle", ""), fleet),
        bool(form.get("new")),
    )


def bytes_of(text: str) -> int:
    """A size as somebody types it: 480GB, 2 TB. Raises DriveWrong."""
    bare = text.strip().replace(",", ".")
    try:
        return round(parse_quantity(bare, BYTES))
    except (ValueError, AsfoundError):
        raise DriveWrong("size", N_("say its size as its label has it, like 480GB")) from None


def act_of(drive: str, form: Mapping[str, str], by: str, zone: ZoneInfo) -> DriveAct:
    """The act that a form asks for; a time without a zone is the fleet's. Raises UsageError."""
    when = form.get("when", "").strip()
    words = {
        name: form.get(name, "")
        for name in ("reason", "vehicle", "to", "where", "place", "picture", "category", "method",
                     "tool", "verified_by", "how")
    }  # fmt: skip
    at = local_time(when, zone, 1) if when else None
    return DriveAct(drive, form.get("head", ""), by, **words, when=at)


def _vehicle(text: str, fleet: Fleet) -> Vehicle | None:
    try:
        return fleet.vehicle(text.strip()) if text.strip() else None
    except NotFound as error:
        raise DriveWrong("vehicle", str(error)) from None
