"""An ignition log or schedule that came as bytes: read by the same readers as a file."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from asfound.calc.plain_text import plain
from asfound.errors import InputError, NotFound
from asfound.model.coverage import IgnitionLog, Schedule
from asfound.ports.backends.ignition_csv import load_ignition
from asfound.ports.backends.schedule_toml import load_schedule
from asfound.web.services import HoursFile

SCHEDULE = ".toml"
"""How a schedule's name ends; everything else is read as a log."""


def sent_hours(file: HoursFile) -> IgnitionLog | Schedule:
    """The log or schedule. Raises InputError, NotFound; messages name the file as it was sent,
    not where it lay meanwhile."""
    name = plain(Path(file.name.replace("\\", "/")).name) or "log.csv"
    with TemporaryDirectory(prefix="asfound-") as folder:
        path = Path(folder) / f"hours{Path(name).suffix.lower()}"
        path.write_bytes(file.data)
        try:
            if path.suffix == SCHEDULE:
                return load_schedule(path)
            return load_ignition(path, file.vehicle, file.among)
        except InputError as error:
            raise InputError(str(error).replace(str(path), name)) from None
        except NotFound as error:
            raise NotFound(str(error).replace(str(path), name)) from None
