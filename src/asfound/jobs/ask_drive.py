"""What was typed about a drive's ratings and what is recorded on it, as a request for the sums."""

from __future__ import annotations

import re
from collections.abc import Sequence

from asfound.calc.days_kept import bytes_a_day
from asfound.calc.drive_life import DAYS_A_YEAR, Wear
from asfound.calc.smart_counts import used_percent, written_bytes
from asfound.errors import UsageError
from asfound.jobs.ask_storage import ask_storage
from asfound.jobs.asked import Fields, figure, needed, quantity, text_of
from asfound.jobs.drive_life import DriveLife
from asfound.jobs.size_storage import Measured
from asfound.model.smart import SmartReport
from asfound.units import BYTES, bytes_text

NAMES = (
    "drive", "tbw", "dwpd", "warranty", "workload", "written", "years", "amplification",
    "channels", "rate", "audio", "hours", "ignition", "run_on", "week", "spread",
)  # fmt: skip
"""The fields: drive 1TB · ratings tbw 600TB, or dwpd 0.3 with warranty 5 (years), workload 180TB (a
year, hard disks) · written 120TB so far · years it is to last · amplification 2 · what is recorded,
as for days kept, or rate 16Mbit/s of all channels together."""
LOADS = ("channels", "audio", "hours", "ignition", "run_on", "week", "spread")
NOTHING = re.compile(r"0+(?:[.]0+)?\s*[kMGTP]?i?B?")
PETA = {**BYTES, "PB": 1e15}


def ask_drive_life(
    fields: Fields, measured: Sequence[Measured] = (), report: SmartReport | None = None
) -> DriveLife:
    """The request; ``measured`` rates take the place of typed ones, ``report`` says what was
    written so far and how large the drive is, where that was not typed. Raises UsageError."""
    rate = text_of(fields, "rate")
    loads = {name: text_of(fields, name) for name in LOADS}
    if rate:
        if loads["channels"]:
            raise UsageError("say channels or the rate of all of them together, not both")
        loads["channels"] = f"1x{rate}"
    if not rate and not loads["channels"] and not measured:
        raise UsageError("channels is missing; write for example 4x2Mbit/s, or a rate of all")
    capacity = _capacity(fields, report)
    storage = ask_storage({**loads, "drive": "1TB"}, measured)
    days = storage.days_a_week / 7 * DAYS_A_YEAR
    amplification = figure(text_of(fields, "amplification", "1"), "amplification", 1, 100)
    dwpd = _figure(fields, "dwpd", 100)
    tbw = _bytes(fields, "tbw")
    used = None if report is None else used_percent(report)
    warranty = _figure(fields, "warranty", 100)
    if tbw is not None and dwpd is not None:
        raise UsageError("tbw and dwpd say the same: give one of them")
    if dwpd is not None and warranty is None:
        raise UsageError("warranty is missing: drive writes a day count for its years; write 5")
    return DriveLife(
        Wear(bytes_a_day(storage.loads), days, amplification),
        capacity,
        tbw,
        dwpd,
        warranty,
        _bytes(fields, "workload"),
        _written(fields, report),
        _figure(fields, "years", 100),
        None if used is None else used / 100,
    )


def _capacity(fields: Fields, report: SmartReport | None) -> float:
    if not text_of(fields, "drive") and report is not None and report.capacity:
        return float(report.capacity)
    return quantity(needed(fields, "drive", "1TB"), "drive", BYTES)


def _written(fields: Fields, report: SmartReport | None) -> float:
    text = text_of(fields, "written")
    said = None if report is None else written_bytes(report)
    if text and report is not None:
        raise UsageError("written: the drive's own report says it; leave it out")
    if report is not None and said is None:
        raise UsageError(
            "the drive's report does not say in a known unit what was written; type it as written"
        )
    if not text:
        return float(said or 0)
    return 0.0 if NOTHING.fullmatch(text) else quantity(text, "written", PETA)


def _bytes(fields: Fields, name: str) -> float | None:
    text = text_of(fields, name)
    return quantity(text, name, PETA) if text else None


def _figure(fields: Fields, name: str, most: float) -> float | None:
    text = text_of(fields, name)
    if not text:
        return None
    found = figure(text, name, 0, most)
    if not found:
        raise UsageError(f"{name} {text}: more than 0 is wanted")
    return found


def drive_text(request: DriveLife) -> str:
    """The drive by its size, for the key of a plot."""
    return "this drive" if request.capacity is None else bytes_text(request.capacity)
