"""Dates that are too early by whole turns of the satellites' week counter.

The week number of the GPS navigation message has 10 bits: it begins anew after 1024 weeks
(IS-GPS-200, 20.3.3.3.1.1, from memory), last on 2019-04-07. Receivers that do not know show dates
7168 days, or twice that, too early.
"""

from __future__ import annotations

TURN_S = 1024 * 7 * 86_400.0
"""1024 weeks: 619,315,200 s."""
NEAR_S = 2 * 366 * 86_400.0
"""Within two years of the day named, a log may be from (own choice)."""
MOST_TURNS = 3


def early_turns(latest_s: float, about_s: float) -> int:
    """By how many turns of 1024 weeks a log whose latest fix is at ``latest_s`` [s since 1970] is
    too early, when it is from about ``about_s``; 0 when the date fits, or nothing fits."""
    for turns in range(MOST_TURNS + 1):
        if abs(latest_s + turns * TURN_S - about_s) <= NEAR_S:
            return turns
    return 0
