"""The clock that a recorder burns into its pictures, as read from them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

DAY_S = 86_400.0


class ClockState(StrEnum):
    """How a burned-in clock behaves over a recording.

    "doubtful": a clock stands there, but what it says is not borne out by enough pictures.
    """

    RUNS = "runs"
    STANDS = "stands"
    STOPS = "stops"
    STARTS = "starts"
    JUMPS = "jumps"
    OTHER_RATE = "other-rate"
    DOUBTFUL = "doubtful"


@dataclass(frozen=True, slots=True)
class BurnedClock:
    """What stands in the pictures, held against the file's own seconds.

    ``text`` is the line as read in one picture, ``box`` its place (x, y, width, height; pixels).
    The clock showed ``clock_s`` (seconds of the day) when the file began, to within
    ``within_s`` either way, on the day that is the one in ``days``; several: which of them the
    date's layout leaves open; none: no date was read. ``pictures`` of ``looked_at`` bear it out.
    ``rate``: seconds of the clock for one of the file. Of a clock that jumps, stops or starts,
    ``change_from_s`` to ``change_to_s`` (seconds of the file) is when, ``change_s`` by how much
    it then is off what it was. ``offset_s`` is shown minus ``against``, seconds, to within
    ``within_s`` and None when there is nothing to hold it against; ``notes`` are lines for the
    person.
    """

    state: ClockState
    text: str
    box: tuple[int, int, int, int]
    clock_s: float
    within_s: float
    days: tuple[date, ...]
    pictures: int
    looked_at: int
    rate: float | None = None
    change_from_s: float | None = None
    change_to_s: float | None = None
    change_s: float | None = None
    offset_s: float | None = None
    against: str = ""
    notes: tuple[str, ...] = ()
