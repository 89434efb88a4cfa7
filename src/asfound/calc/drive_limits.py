"""Limits for the health of drives, each with where it comes from."""

from __future__ import annotations

from asfound.sources import Limit, Source

_COUNTS = Source(
    "Backblaze drive statistics, 67,814 hard disks: raw value above 0", "", 2016, "read"
)
_FIELD = Source(
    "Pinheiro et al., Failure Trends in a Large Disk Drive Population, FAST", "3.5", 2007, "memory"
)
_NVME = Source("NVM Express Base Specification, SMART / health log", "", None, "memory")
_ACS = Source("ATA/ATAPI Command Set 3, device statistics", "", None, "memory")
_OWN = Source("own choice", how="common practice")

WATCHED_COUNT = Limit(0.0, "1", _COUNTS)
"""Attributes 5, 187, 188, 197 and 198: one or more above 0 was seen on 76.7 % of the disks that
failed and on 4.2 % of those that worked (from memory)."""
SCAN_ERRORS = Limit(0.0, "1", _FIELD)
"""After its first scan error a disk was 39 times as likely to fail within 60 days (from memory)."""
UNCORRECTED = Limit(0.0, "1", Source("common practice, no source", how="common practice"))
"""Data that a drive could not give back, by its own count."""
NVME_USED = Limit(100.0, "%", _NVME)
"""Share of the rated endurance that is used; may go beyond, the drive does not stop there."""
ATA_USED = Limit(100.0, "%", _ACS)
"""The same indicator of an ATA drive."""
USED_SOON = Limit(80.0, "%", _OWN)
"""From here on a new drive is worth planning."""
NVME_SPARE = Limit(10.0, "%", _NVME)
"""Spare blocks left, where the drive names no limit of its own."""
NVME_WARNING = Limit(0.0, "1", _NVME)
"""Bits of the critical warning."""
NVME_MEDIA = Limit(0.0, "1", _NVME)
"""Data that could not be read back or written, by the drive's count."""
OVER_LIMIT_SHOCKS = Limit(0.0, "1", _ACS)
"""Shocks beyond what the drive is made for, by its own count."""
SHOCKS_A_DAY = Limit(1.0, "per day", _OWN)
"""Attribute 191 counts as its maker likes; more than one for each 24 power-on hours is worth a look
at the mount."""
HDD_CELSIUS = Limit(
    60.0, "°C", Source("trade articles of drive makers: data-centre disks 5 to 60 °C", how="read")
)
"""Where a hard disk names no limit of its own; storage and recording classes allow 65 and 70 °C."""
SSD_CELSIUS = Limit(70.0, "°C", Source("data sheets of drives without motor", "", None, "memory"))
"""The same for drives in which nothing turns."""
OLD_HOURS = Limit(5 * 8760.0, "h", Source("usual warranty of five years", how="common practice"))
"""Powered for longer than any warranty runs."""
REPORT_DAYS = Limit(7.0, "days", _OWN)
"""A report that is older says how the drive was, not how it is."""
UNSAFE_SHARE = Limit(50.0, "%", _OWN)
"""Share of power-offs that came without notice."""
UNSAFE_ENOUGH = 10
"""So many power cycles show a habit (own choice)."""
CRC_ERRORS = Limit(0.0, "1", Source("attribute 199: cable, plug or supply", how="common practice"))
"""Transfers between drive and computer that arrived damaged and were repeated."""

RATING = Source("the drive's data sheet, TBW or DWPD (JEDEC JESD218, JESD219)", "", None, "memory")
"""Rated writes."""
WORKLOAD = Source("the drive's data sheet, workload a year", "", None, "memory")
"""Workload classes."""
STATUS = Source("the drive's SMART status")
THRESHOLD = Source("the maker's threshold, in the drive")
ITSELF = Source("the drive's own limit")
ASKED = Source("as asked")
CAME_BACK = Source("what was written has to come back")
FREE_SPACE = Source("free space by the file system")
WRITES = Source("POSIX, write")
OWN = _OWN


def cited(source: Source) -> str:
    """The source in one line, with how it is known where it was not read."""
    return source.cite() + (", from memory" if source.how == "memory" else "")
