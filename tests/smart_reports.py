"""Reports of invented drives in the form of `smartctl --json -x` (tests only).

Names and nesting as smartmontools documents its JSON; written down from memory. No real drive is
meant: makes, serial numbers and figures are made up.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

Report = dict[str, Any]

NAMES = {
    5: "Reallocated_Sector_Ct", 9: "Power_On_Hours", 187: "Reported_Uncorrect",
    188: "Command_Timeout", 191: "G-Sense_Error_Rate", 194: "Temperature_Celsius",
    197: "Current_Pending_Sector", 198: "Offline_Uncorrectable", 199: "UDMA_CRC_Error_Count",
    241: "Total_LBAs_Written",
}  # fmt: skip


def row(number: int, raw: int, text: str = "", **more: Any) -> Report:
    """A row of the table of attributes."""
    made = {
        "id": number, "name": NAMES.get(number, "Unknown_Attribute"), "value": 100, "worst": 100,
        "thresh": 10, "when_failed": "",
        "flags": {"value": 51, "string": "PO--CK ", "prefailure": number == 5},
        "raw": {"value": raw, "string": text or str(raw)},
    }  # fmt: skip
    return made | more


def head(protocol: str) -> Report:
    """What every report begins with."""
    return {
        "json_format_version": [1, 0],
        "smartctl": {"version": [7, 4], "exit_status": 0, "argv": ["smartctl", "--json", "-x"]},
        "device": {"name": "/dev/sdb", "type": "sat", "protocol": protocol},
        "model_name": "TARN-4000V",
        "serial_number": "TRN0042",
        "firmware_version": "1.07",
        "user_capacity": {"blocks": 7_814_037_168, "bytes": 4_000_787_030_016},
        "logical_block_size": 512,
        "smart_status": {"passed": True},
        "power_on_time": {"hours": 8000},
        "power_cycle_count": 900,
        "temperature": {"current": 38},
    }


TAKEN: Report = {"local_time": {"time_t": 1_795_680_000, "asctime": "Thu Nov 26 08:00:00 2026 UTC"}}
"""When a report was made."""


def hdd(raws: Mapping[int, int] | None = None, **more: Any) -> Report:
    """A hard disk without fault but for these raw values and parts."""
    raws = dict.fromkeys((5, 187, 188, 191, 197, 198, 199), 0) | dict(raws or {})
    table = {"revision": 16, "table": [row(number, raw) for number, raw in raws.items()]}
    return head("ATA") | {"rotation_rate": 7200, "ata_smart_attributes": table} | more


def ssd(raws: Mapping[int, int] | None = None, **more: Any) -> Report:
    """An ATA drive without motor."""
    return hdd(raws, rotation_rate=0) | more


def nvme(log: Mapping[str, Any] | None = None, **more: Any) -> Report:
    """An NVMe drive without fault but for these figures of its health log."""
    usual = {
        "critical_warning": 0, "temperature": 38, "available_spare": 100,
        "available_spare_threshold": 10, "percentage_used": 3, "data_units_read": 1000,
        "data_units_written": 2_000_000, "power_cycles": 900, "power_on_hours": 8000,
        "unsafe_shutdowns": 12, "media_errors": 0, "num_err_log_entries": 0,
    }  # fmt: skip
    figures = usual | dict(log or {})
    made = head("NVMe") | {"nvme_smart_health_information_log": figures}
    made["smart_status"] = {"passed": not figures["critical_warning"]}
    return made | more


def statistics(*figures: tuple[int, int, int]) -> Report:
    """The statistics log of (page, offset, value)."""
    pages = [
        {
            "number": page,
            "table": [{"offset": at, "value": value, "flags": {"valid": True}}],
        }
        for page, at, value in figures
    ]
    return {"ata_device_statistics": {"pages": pages}}


def self_tests(*passed: bool) -> Report:
    """A log of self-tests, newest first."""
    words = {True: "Completed without error", False: "Completed: read failure"}
    table = [
        {
            "type": {"value": 1, "string": "Short offline"},
            "status": {"value": 0 if one else 121, "string": words[one], "passed": one},
            "lifetime_hours": 7000 - number,
        }
        for number, one in enumerate(passed)
    ]
    return {"ata_smart_self_test_log": {"standard": {"revision": 1, "table": table}}}


def text(report: object) -> bytes:
    """As a file holds it."""
    return json.dumps(report).encode()
