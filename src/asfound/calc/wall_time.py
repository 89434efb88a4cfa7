"""The clock on the wall as a moment: hours that come twice, and those that never come.

Source: PEP 495 (2016), `fold`; a wall time that does not come back from UTC was skipped.
"""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo


def moment(wall: datetime, zone: tzinfo, fold: int = 0) -> datetime:
    """The moment (UTC) at which clocks in ``zone`` show ``wall`` (naive).

    ``fold``: of an hour that comes twice the first (0) or the second one (1). Raises ValueError
    for a time that never came because clocks were put forward, or beyond the calendar's end.
    """
    try:
        made = wall.replace(tzinfo=zone, fold=fold).astimezone(UTC)
        back = made.astimezone(zone).replace(tzinfo=None, fold=0)
    except OverflowError:
        raise ValueError("lies beyond the calendar's end") from None
    if back != wall.replace(fold=0):
        raise ValueError("did not come: clocks were put forward over it")
    return made


def comes_twice(at: datetime, zone: tzinfo) -> bool:
    """True when clocks in ``zone`` show the same time an hour or so before or after ``at``."""
    here = at.astimezone(zone)
    return here.replace(fold=0).utcoffset() != here.replace(fold=1).utcoffset()
