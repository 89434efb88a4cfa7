"""How long keying takes: the keystroke-level model with the few operators that apply here.

T = M * fields + K1 * runs + K2 * (presses - runs)  [s]

M: one mental preparation for each field (look at the sheet, find the row). K1: the first press of a
key, found by eye. K2: each further press of the same key. Valid for a practised person who makes
no errors; the recorder's own response time (operator R) is not counted.
"""

from __future__ import annotations

from asfound.sources import KEY_FIRST_SECONDS, KEY_REPEAT_SECONDS, MENTAL_SECONDS


def keying_seconds(fields: int, runs: int, presses: int) -> float:
    """Seconds for ``fields`` fields keyed with ``presses`` presses in ``runs`` runs of one key."""
    return (
        MENTAL_SECONDS.value * fields
        + KEY_FIRST_SECONDS.value * runs
        + KEY_REPEAT_SECONDS.value * (presses - runs)
    )
