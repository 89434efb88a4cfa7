"""What every drive says of itself, whatever it is connected by."""

from __future__ import annotations

from collections.abc import Iterator

from asfound.calc import drive_limits as limits
from asfound.model.drive_check import DriveFinding, Weight
from asfound.model.smart import SmartReport
from asfound.sources import Limit


def found(
    kind: str, weight: Weight, measured: float | None, limit: Limit, note: str
) -> DriveFinding:
    """A finding against one of the limits."""
    source = limits.cited(limit.source)
    return DriveFinding(kind, weight, measured, limit.value, limit.unit, source, note)


def common_findings(report: SmartReport) -> Iterator[DriveFinding]:
    """Status over all, self-tests, heat, age, power-offs without notice."""
    # An NVMe drive's status is its critical warning, whose bits say more.
    warned = report.nvme is not None and report.nvme.critical_warning
    if report.passed is False and not warned:
        note = "the drive itself says that it is failing: copy what is needed, do not fit it"
        yield DriveFinding(
            "status-failed", Weight.FAILING, None, None, "", limits.cited(limits.STATUS), note
        )
    if report.failed_tests:
        newest = report.failed_tests[0]
        hours, said = newest.hours, newest.text or "a read failure"
        note = f"a self-test failed: {said}"
        if hours is not None:
            note = f"a self-test failed at {hours} power-on hours: {said}"
        count = float(len(report.failed_tests))
        yield found("scan-errors", Weight.SUSPECT, count, limits.SCAN_ERRORS, note)
    yield from _heat(report)
    if report.power_on_hours is not None and report.power_on_hours > limits.OLD_HOURS.value:
        years = report.power_on_hours / 8760
        note = f"{years:.1f} years under power, longer than warranties run"
        yield found("old", Weight.NOTE, float(report.power_on_hours), limits.OLD_HOURS, note)


def _heat(report: SmartReport) -> Iterator[DriveFinding]:
    limit = heat_limit(report)
    now, highest = report.celsius, highest_celsius(report)
    if now is not None and now > limit.value:
        note = f"{now} °C now, made for {limit.value:g}: let it cool, look at where it sits"
        yield found("hot-now", Weight.NOTE, now, limit, note)
    if highest is not None and highest > limit.value:
        note = f"has been at {highest} °C, made for {limit.value:g}: look at where it sits"
        yield found("was-too-hot", Weight.NOTE, highest, limit, note)


def heat_limit(report: SmartReport) -> Limit:
    """What the drive is made for: by its own word, else by its kind."""
    own = report.limit_celsius or report.statistics.limit_celsius
    usual = limits.HDD_CELSIUS if report.turns is not False else limits.SSD_CELSIUS
    if own is None or own <= 0:
        return usual
    return Limit(float(own), usual.unit, limits.ITSELF)


def highest_celsius(report: SmartReport) -> int | None:
    """The hottest that the drive remembers."""
    said = report.highest_celsius
    return report.statistics.highest_celsius if said is None else said
