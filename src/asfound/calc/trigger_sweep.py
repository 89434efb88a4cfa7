"""Every setting of a motion trigger at once: threshold x duration, in one pass over the samples.

**What an event is.** The acceleration along an axis, filtered, its sign left out, lies at or above
the threshold for at least the duration. At the sample at which the duration is reached the trigger
*may* fire, and at every later one for as long as the acceleration stays there. It fires at the
first such sample that is no less than the hold-off after the last firing; each firing is an event.
A shake that lasts longer than duration and hold-off is several. A gap in the log ends every shake;
the hold-off runs on through gaps. A duration of n samples is reached at the n-th sample.

So fewer samples may fire at a higher threshold or a longer duration, never others; and since
firing as early as can be fits the most firings in, neither ever brings more events.

**How.** Levels that the acceleration has risen above are a stack: open[k] is the sample at which
it rose to thresholds[k]. Most samples change nothing, whatever the number of thresholds; when a
level closes, its length is held against the durations, shortest first.

The functions are written so that they can be compiled (ports/backends/sweep_numba.py); uncompiled
they do the same, slowly.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NEVER = -(1 << 62)
"""The sample from which a trigger that never fired may fire."""


State = tuple[Ints, Ints, Ints, Ints, Ints]
"""open (K + 1,) with the number of open levels at its end; free (K, D): the sample from which each
setting may fire again; events (K, D), and of them those outside of marked spans (K, D); best
(L, D): the highest level, 1 … K, at which a trigger may fire inside each marked span (0: none)."""

Spans = tuple[Ints, Ints, Ints]
"""First and last sample (L,) of each marked span by their beginnings, latest end so far (L,)."""


def sweep(
    x: NDArray[np.floating],
    first: int,
    levels: Floats,
    needs: Ints,
    hold: int,
    state: State,
    spans: Spans,
) -> None:
    """Takes the samples ``x`` (n,), of which the first has number ``first``, into ``state``.

    ``levels`` (K + 2,): -1, the thresholds as they rise, infinity. ``needs`` (D,): samples that
    each duration takes, rising. ``hold``: the hold-off in samples, 1 at least.
    """
    opened, free, events, outside, _ = state
    durations = len(needs)
    marked = len(spans[0]) > 0
    top = opened[len(opened) - 1]
    low, high = levels[top], levels[top + 1]
    for i in range(len(x)):
        value = abs(x[i])
        if value >= high:
            while value >= high:
                opened[top] = first + i
                top += 1
                high = levels[top + 1]
            low = levels[top]
        elif top > 0 and not value >= low:
            end = first + i
            while top > 0 and not value >= low:
                top -= 1
                low = levels[top]
                start = opened[top] - 1
                d = 0
                while d < durations and start + needs[d] < end:
                    at = free[top, d]
                    if marked:
                        fire(top, d, (start + needs[d], end), hold, state, spans)
                    elif at < end:
                        # As in ``fire``; a call for each event would double the time.
                        at = max(at, start + needs[d])
                        while at < end:
                            events[top, d] += 1
                            outside[top, d] += 1
                            at += hold
                        free[top, d] = at
                    d += 1
            high = levels[top + 1]
    opened[len(opened) - 1] = top


def shut(end: int, needs: Ints, hold: int, state: State, spans: Spans) -> None:
    """Ends every shake before the sample ``end``: at a gap, or when the log is over."""
    opened = state[0]
    for level in range(opened[len(opened) - 1]):
        for d in range(len(needs)):
            low = opened[level] + needs[d] - 1
            if low < end:
                fire(level, d, (low, end), hold, state, spans)
    opened[len(opened) - 1] = 0


def fire(level: int, d: int, may: tuple[int, int], hold: int, state: State, spans: Spans) -> None:
    """Counts what fires at ``level`` and duration ``d``, which it may from the first of the samples
    ``may`` to the one before the second."""
    low, end = may
    free, events, outside, best = state[1], state[2], state[3], state[4]
    marked = len(spans[0]) > 0
    if marked:
        mark_spans(level, d, may, best, spans)
    at = max(low, free[level, d])
    while at < end:
        events[level, d] += 1
        if not (marked and is_inside(at, spans)):
            outside[level, d] += 1
        at += hold
        free[level, d] = at


def mark_spans(level: int, d: int, may: tuple[int, int], best: Ints, spans: Spans) -> None:
    """Every span that has one of the samples ``may`` is reached at ``level``."""
    begins, ends, latest = spans
    low, end = may
    at = np.searchsorted(latest, low)
    while at < len(begins) and begins[at] < end:
        if ends[at] >= low and best[at, d] < level + 1:
            best[at, d] = level + 1
        at += 1


def is_inside(sample: int, spans: Spans) -> bool:
    """True when a marked span has ``sample``."""
    begins, ends, latest = spans
    at = np.searchsorted(latest, sample)
    while at < len(begins) and begins[at] <= sample:
        if ends[at] >= sample:
            return True
        at += 1
    return False
