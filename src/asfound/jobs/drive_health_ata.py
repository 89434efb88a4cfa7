"""What an ATA drive's table and statistics say, and a SCSI drive's counters."""

from __future__ import annotations

from collections.abc import Iterator

from asfound.calc import drive_limits as limits
from asfound.calc.smart_counts import TIME_OUTS, count_of, time_outs
from asfound.jobs.drive_health_common import found
from asfound.model.drive_check import DriveFinding, Weight
from asfound.model.smart import SmartAttribute, SmartReport
from asfound.sources import Limit

WATCHED = {
    5: "reallocated-sectors",
    187: "uncorrectable-errors",
    188: "command-timeouts",
    197: "pending-sectors",
    198: "offline-uncorrectable",
}
"""Attributes whose raw value field studies tie to failure, and what a finding is called."""
SHOCK, CABLE = 191, 199


def ata_findings(report: SmartReport) -> Iterator[DriveFinding]:
    """Rows at their threshold, counts that field studies watch, wear, shocks, cable."""
    for row in report.attributes:
        yield from _threshold(row)
    for number, kind in WATCHED.items():
        seen = report.attribute(number)
        count = None if seen is None else count_of(seen)
        if seen is not None and count:
            note = _time_outs(seen.raw) if number == TIME_OUTS else _watched(number, count)
            yield found(kind, Weight.SUSPECT, count, limits.WATCHED_COUNT, note)
    yield from _statistics(report)
    yield from _counters(report)
    yield from _shocks(report)
    cable = report.attribute(CABLE)
    errors = None if cable is None else count_of(cable)
    if errors:
        note = f"transfers damaged on the way: {errors}; look at cable, plug and supply"
        yield found("cable-errors", Weight.NOTE, errors, limits.CRC_ERRORS, note)


def _threshold(row: SmartAttribute) -> Iterator[DriveFinding]:
    now = row.failed.casefold() in ("now", "failing_now")
    if row.value is not None and row.threshold:
        now = now or row.value <= row.threshold
    past = not now and row.failed.casefold() in ("past", "in_the_past")
    if not now and not past:
        return
    name = f"{row.name or 'attribute'} ({row.number})"
    limit = None if row.threshold is None else float(row.threshold)
    measured = row.value if now else row.worst
    weight = Weight.FAILING if now and row.prefailure else Weight.SUSPECT
    kind = "below-threshold" if now else "was-below-threshold"
    note = f"{name} {'is' if now else 'was'} at its maker's threshold"
    source = limits.cited(limits.THRESHOLD)
    yield DriveFinding(kind, weight, measured, limit, "points", source, note)


def _watched(number: int, count: int) -> str:
    return {
        5: f"sectors replaced by spare ones: {count} (attribute 5)",
        187: f"errors that could not be corrected: {count} (attribute 187)",
        197: f"sectors that wait to be read or replaced: {count} (attribute 197)",
        198: f"sectors that could not be read in a scan: {count} (attribute 198)",
    }[number]


def _time_outs(raw: int) -> str:
    total, slow, slower = time_outs(raw)
    if total == raw:
        return f"commands that timed out: {total} (attribute 188); cables and supply do that, too"
    return (
        f"commands that timed out: {total}, of them {slow} late and {slower} very late (attribute "
        "188, unpacked); cables and supply do that, too"
    )


def _statistics(report: SmartReport) -> Iterator[DriveFinding]:
    said = report.statistics
    for number, count, note in (
        (5, said.reallocated, f"sectors replaced by spare ones: {said.reallocated} (statistics)"),
        (197, said.candidates, f"sectors that wait to be replaced: {said.candidates} (statistics)"),
        (187, said.uncorrectable, f"errors not corrected: {said.uncorrectable} (statistics)"),
    ):
        if count and not _said(report, number):
            yield found(WATCHED[number], Weight.SUSPECT, count, limits.WATCHED_COUNT, note)
    if said.used_percent is not None and said.used_percent >= limits.USED_SOON.value:
        yield worn(said.used_percent, limits.ATA_USED)


def _said(report: SmartReport, number: int) -> bool:
    row = report.attribute(number)
    return row is not None and bool(count_of(row))


def worn(percent: int, limit: Limit) -> DriveFinding:
    """Rated endurance used, from USED_SOON on."""
    if percent >= limit.value:
        note = f"{percent} % of the rated endurance is used: it is worn out, replace it"
        return found("worn-out", Weight.SUSPECT, percent, limit, note)
    note = f"{percent} % of the rated endurance is used: plan a new drive"
    return found("nearly-worn-out", Weight.NOTE, percent, limits.USED_SOON, note)


def _counters(report: SmartReport) -> Iterator[DriveFinding]:
    if report.grown_defects:
        note = f"defects that were added since it was made: {report.grown_defects}"
        count = float(report.grown_defects)
        yield found("grown-defects", Weight.SUSPECT, count, limits.UNCORRECTED, note)
    if report.uncorrected:
        note = f"errors that could not be corrected: {report.uncorrected} (counters)"
        count = float(report.uncorrected)
        yield found("uncorrectable-errors", Weight.SUSPECT, count, limits.UNCORRECTED, note)
    if report.errors_logged:
        note = f"errors in the drive's log: {report.errors_logged}; each names its place"
        count = float(report.errors_logged)
        yield found("errors-logged", Weight.NOTE, count, limits.UNCORRECTED, note)


def _shocks(report: SmartReport) -> Iterator[DriveFinding]:
    beyond = report.statistics.over_limit_shocks
    if beyond:
        note = f"shocks beyond what the drive is made for: {beyond}; look at the mount"
        yield found("over-limit-shocks", Weight.NOTE, beyond, limits.OVER_LIMIT_SHOCKS, note)
        return
    row = report.attribute(SHOCK)
    count, hours = None if row is None else count_of(row), report.power_on_hours
    if count and hours:
        a_day = count * 24 / hours
        if a_day > limits.SHOCKS_A_DAY.value:
            note = f"shocks in {hours} power-on hours: {count} (attribute 191); look at the mount"
            yield found("shocks", Weight.NOTE, a_day, limits.SHOCKS_A_DAY, note)


def ata_unclear(report: SmartReport) -> list[str]:
    """What has to be known before such a drive counts as good, and is not."""
    lines = list(report.messages)
    if report.passed is None:
        lines.append("the drive gives no status over all")
    scsi = report.grown_defects is not None
    statistics = report.statistics.reallocated, report.statistics.uncorrectable
    if not report.attributes and not scsi and statistics == (None, None):
        lines.append(
            "no table of attributes: a USB adapter may hide it; read the drive on a computer's own "
            "port, or name the adapter's kind with -d"
        )
    elif not scsi:
        lines += _uncounted(report)
    for number in WATCHED:
        row = report.attribute(number)
        if row is not None and count_of(row) is None:
            lines.append(f"attribute {number} packs its count in a code that is not known")
    return lines


def _uncounted(report: SmartReport) -> list[str]:
    """A hard disk has to count what it replaced and what it could not read; a drive without
    motor one of the watched counts."""
    have = {row.number for row in report.attributes} & set(WATCHED)
    said = report.statistics
    if said.reallocated is not None:
        have.add(5)
    if said.candidates is not None:
        have.add(197)
    if said.uncorrectable is not None:
        have.add(187)
    if report.turns is False:
        return [] if have else ["none of the counts that field studies watch is there"]
    lines = [] if 5 in have else ["the count of replaced sectors (5) is not there"]
    if not have & {197, 198}:
        lines.append("the counts of sectors that cannot be read (197, 198) are not there")
    return lines
