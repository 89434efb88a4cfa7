"""Zones of the IANA time zone database as the package tzdata has them.

What the system has installed may be older: rules move, and a table of next year's changes has to
say by which version it was made.
"""

from __future__ import annotations

import re
from importlib import resources
from zoneinfo import ZoneInfo

import tzdata

from asfound.errors import UsageError

ZONES_VERSION: str = tzdata.IANA_VERSION
NAME = re.compile(r"[A-Za-z0-9_+-]{1,40}(/[A-Za-z0-9_+-]{1,40}){0,2}", re.ASCII)


def packaged_zone(name: str) -> ZoneInfo:
    """The zone called ``name``. Raises UsageError."""
    place = resources.files("tzdata").joinpath("zoneinfo")
    if NAME.fullmatch(name) is not None:
        for part in name.split("/"):
            place = place.joinpath(part)
        try:
            with place.open("rb") as file:
                return ZoneInfo.from_file(file, key=name)
        except (OSError, ValueError):
            pass
    raise UsageError(f"time zone {name[:60]!r} is not known; use an IANA name: Europe/Madrid")
