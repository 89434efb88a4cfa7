"""What an NVMe drive's health log says (NVM Express Base Specification)."""

from __future__ import annotations

from collections.abc import Iterator

from asfound.calc import drive_limits as limits
from asfound.jobs.drive_health_ata import worn
from asfound.jobs.drive_health_common import found
from asfound.model.drive_check import DriveFinding, Weight
from asfound.model.smart import NvmeHealth, SmartReport
from asfound.sources import Limit

WARNINGS = (
    (1, "spare-low", Weight.FAILING, "spare blocks have run low"),
    (2, "too-hot", Weight.SUSPECT, "the temperature is beyond the drive's own threshold"),
    (4, "unreliable", Weight.FAILING, "errors have made the drive unreliable"),
    (8, "read-only", Weight.FAILING, "the drive has gone read-only"),
    (16, "backup-failed", Weight.SUSPECT, "the backup of its volatile memory has failed"),
    (32, "unreliable-memory", Weight.SUSPECT, "its persistent memory region is unreliable"),
)
"""Bits of the critical warning (from memory)."""


def nvme_findings(report: SmartReport) -> Iterator[DriveFinding]:
    """Warnings, spare blocks, wear, media errors, power-offs without notice."""
    log = report.nvme
    if log is None:
        return
    yield from _warnings(log)
    low = spare_limit(log)
    if log.spare_percent is not None and log.spare_percent < low.value:
        note = f"{log.spare_percent} % of the spare blocks are left"
        yield found("spare-low", Weight.FAILING, log.spare_percent, low, note)
    if log.used_percent is not None and log.used_percent >= limits.USED_SOON.value:
        yield worn(log.used_percent, limits.NVME_USED)
    if log.media_errors:
        note = f"data that could not be read back or written: {log.media_errors} times"
        count = float(log.media_errors)
        yield found("media-errors", Weight.SUSPECT, count, limits.NVME_MEDIA, note)
    yield from _unsafe(report, log)


def _warnings(log: NvmeHealth) -> Iterator[DriveFinding]:
    bits = log.critical_warning or 0
    for bit, kind, weight, words in WARNINGS:
        # Spare blocks have a figure of their own where the drive gives one.
        if bits & bit and not (bit == 1 and _is_low(log)):
            note = f"critical warning: {words}"
            yield found(kind, weight, float(bit), limits.NVME_WARNING, note)
    rest = bits & ~sum(bit for bit, *_ in WARNINGS)
    if rest:
        note = f"critical warning {bits:#04x} with bits that are not known here"
        yield found("warning", Weight.SUSPECT, float(bits), limits.NVME_WARNING, note)


def _is_low(log: NvmeHealth) -> bool:
    return log.spare_percent is not None and log.spare_percent < spare_limit(log).value


def spare_limit(log: NvmeHealth) -> Limit:
    """Least spare blocks: by the drive's own word, else the usual ones."""
    own = log.spare_limit_percent
    usual = limits.NVME_SPARE
    return usual if own is None else Limit(float(own), usual.unit, usual.source)


def _unsafe(report: SmartReport, log: NvmeHealth) -> Iterator[DriveFinding]:
    cycles, unsafe = report.power_cycles, log.unsafe_shutdowns
    if not cycles or unsafe is None or cycles < limits.UNSAFE_ENOUGH:
        return
    share = 100 * unsafe / cycles
    if share > limits.UNSAFE_SHARE.value:
        note = (
            f"{unsafe} of {cycles} power-offs came without notice: look at supply and run-on of "
            "the recorder"
        )
        yield found("unsafe-power-offs", Weight.NOTE, share, limits.UNSAFE_SHARE, note)


def nvme_unclear(report: SmartReport) -> list[str]:
    """What has to be known before such a drive counts as good, and is not."""
    lines = list(report.messages)
    log = report.nvme
    if report.passed is None:
        lines.append("the drive gives no status over all")
    if log is None:
        return lines
    for figure, words in (
        (log.critical_warning, "critical warning"),
        (log.spare_percent, "spare blocks"),
        (log.used_percent, "endurance used"),
        (log.media_errors, "media errors"),
    ):
        if figure is None:
            lines.append(f"the health log says nothing of {words}")
    return lines
