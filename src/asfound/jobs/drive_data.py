"""Findings about drives in their documented form (docs/bench.md)."""

from __future__ import annotations

from collections.abc import Sequence

from asfound.calc.days_kept import Band
from asfound.calc.smart_counts import used_percent
from asfound.jobs.drive_health import Health
from asfound.jobs.drive_health_common import heat_limit, highest_celsius
from asfound.jobs.drive_life import DriveLife, Life
from asfound.model.drive_check import DriveFinding
from asfound.model.drive_test import DriveTested
from asfound.model.smart import SmartReport


def findings_data(findings: Sequence[DriveFinding]) -> list[dict[str, object]]:
    """Each finding as JSON has it."""
    return [
        {
            "kind": str(one.kind),
            "weight": str(one.weight),
            "measured": one.measured,
            "limit": one.limit,
            "unit": one.unit,
            "source": one.source,
            "note": one.note,
        }
        for one in findings
    ]


def life_data(request: DriveLife, life: Life) -> dict[str, object]:
    """asfound-drive-life/1 without its format."""
    return {
        "capacity_bytes": request.capacity,
        "rated_bytes": life.rated,
        "rated_writes_a_day": life.rated_writes_a_day,
        "workload_bytes_a_year": request.workload,
        "warranty_years": request.warranty_years,
        "written_bytes": request.written,
        "amplification": request.wear.amplification,
        "days_a_year": request.wear.days_a_year,
        "bytes_a_day": _band(request.wear.bytes_a_day),
        "bytes_a_year": _band(life.written_a_year),
        "writes_a_day": life.writes_a_day,
        "used_share": life.used_share,
        "amplification_by_drive": life.amplification_seen,
        "years_left": None if life.years is None else _band(life.years),
        "workload_class_bytes_a_year": life.workload_class,
        "findings": findings_data(life.findings),
    }


def _band(band: Band) -> list[float]:
    return [band.low, band.likely, band.high]


def health_data(report: SmartReport, health: Health) -> dict[str, object]:
    """One drive of asfound-drive-health/1."""
    return {
        "model": report.model,
        "serial": report.serial,
        "firmware": report.firmware,
        "taken": None if report.taken is None else report.taken.isoformat(),
        "capacity_bytes": report.capacity,
        "turns": report.turns,
        "power_on_hours": report.power_on_hours,
        "power_cycles": report.power_cycles,
        "celsius": report.celsius,
        "highest_celsius": highest_celsius(report),
        "celsius_limit": heat_limit(report).value,
        "written_bytes": health.written,
        "used_percent": used_percent(report),
        "verdict": str(health.verdict),
        "findings": findings_data(health.findings),
        "unclear": list(health.unclear),
    }


def tested_data(result: DriveTested) -> dict[str, object]:
    """asfound-drive-test/1 without format and path."""
    return {
        "verdict": str(result.verdict),
        "total_bytes": result.total,
        "free_bytes": result.free,
        "span_bytes": result.span,
        "sampled": result.sampled,
        "written_bytes": result.written,
        "read_bytes": result.read,
        "good_bytes": result.good,
        "real_bytes": result.real,
        "write_bytes_per_s": result.write_rate,
        "read_bytes_per_s": result.read_rate,
        "reads": result.past,
        "bad": [{"start": one.start, "bytes": one.length, "what": one.what} for one in result.bad],
        "findings": findings_data(result.findings),
        "unclear": list(result.unclear),
        "removed_files": result.removed,
        "left_files": list(result.left),
    }
