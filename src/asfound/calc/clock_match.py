"""How far one log's clock is from another's, by the speed that both saw.

    r(lag) = sum(a(t) b(t + lag)) / sqrt(sum a² sum b²), over the seconds that both have,
             of accelerations with their mean over those seconds taken off

by FFT (masked normalised cross-correlation: D. Padfield, IEEE Trans. Image Processing 21(5), 2012,
from memory). Accelerations are compared because speeds on one road are alike at many lags. The peak
is placed between samples by a parabola.

    offset = time of the recorder - time of the reference for the same moment        [s]

so true = recorder - offset, if the reference is true. A receiver tells speeds late, by up to 1.5 s
on phones: that lag is in the offset and cannot be told from it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.student import t_quantile

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

STEP_S = 0.25
"""Spacing at which logs are compared."""
SPAN_S = 1.0
"""Accelerations are speeds this much later minus this much sooner."""
GAP_S = 3.5
"""Between fixes further apart than this nothing is known."""
LEAST_R = 0.5
LEAST_MARGIN = 0.25
"""A peak counts from this height, and by this much above any other. Of 400 simulated pairs of
drives that had nothing to do with each other none that shared LEAST_S came beyond 0.15; of 150
pairs of logs of one drive none below 0.6 (tuning seeds)."""
LONGEST_S = 8 * 86_400.0
"""A week and a day: beyond, memory would be all that it takes."""
LOBE_S = 15.0
"""Nearer to the peak, others are its own flanks."""
LEAST_S = 300.0
"""Both logs have to know this many seconds at a lag that is looked at."""
CHANCE = 4.0
"""Standard deviations that the best of some thousand lags reaches by chance."""
LASTING_S = 60.0
BLOCK_S = 20.0
"""For so long accelerations have to do with each other at most, and noise with itself."""
NEVER_S = 1e6
FINEST_S = 0.01
"""Finer than this nobody's clock is told (own choice)."""
DEAF_MS2 = 1e-3
"""Accelerations whose spread is below this say nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Speeds:
    """Speeds (n,) [m/s] at ``times_s`` (n,) [s], which grow strictly; nan: not known."""

    times_s: Floats
    speed_ms: Floats


@dataclass(frozen=True, slots=True)
class Match:
    """``offset_s``: recorder minus reference [s] at the best peak, ``within_s`` its random error
    (95 %); ``r`` its height; ``margin``: by how much it tops the next, both less what chance makes
    of the seconds shared there; ``shared_s``: seconds that both logs know at it."""

    offset_s: float
    within_s: float
    r: float
    margin: float
    shared_s: float

    @property
    def sure(self) -> bool:
        """Whether the peak can be no other."""
        return self.r > LEAST_R and self.margin > LEAST_MARGIN


def match_clocks(recorder: Speeds, reference: Speeds, most_s: float) -> Match | None:
    """The offset within ``most_s`` [s] either way; None where no lag leaves enough to compare.

    Raises ValueError for logs of more than LONGEST_S.
    """
    if not (len(recorder.times_s) and len(reference.times_s)):
        return None
    reach = LOBE_S + most_s
    recorder = _cut(recorder, reference.times_s[0] - reach, reference.times_s[-1] + reach)
    if not len(recorder.times_s):
        return None
    reference = _cut(reference, recorder.times_s[0] - reach, recorder.times_s[-1] + reach)
    if not len(reference.times_s):
        return None
    if max(log.times_s[-1] - log.times_s[0] for log in (recorder, reference)) > LONGEST_S:
        raise ValueError(f"logs of more than {LONGEST_S / 86_400:g} days; cut them")
    start = min(recorder.times_s[0], reference.times_s[0])
    one, two = _accelerations(recorder, start), _accelerations(reference, start)
    if min(one[1].sum(), two[1].sum()) * STEP_S < LEAST_S:
        return None
    most = min(int(most_s / STEP_S), max(len(one[0]), len(two[0])))
    heights, shared = _heights(one, two, most)
    if not np.isfinite(heights).any():
        return None
    chance = CHANCE * np.sqrt(_lasting(one, two) / np.maximum(shared, 1.0))
    scores = np.tanh(np.arctanh(np.clip(heights, -0.9999, 0.9999)) - chance)
    top = int(np.nanargmax(scores))
    lags = np.arange(-most, most + 1)
    others = (np.abs(lags - lags[top]) * STEP_S > LOBE_S) & np.isfinite(scores)
    next_best = max(0.0, float(scores[others].max())) if others.any() else 0.0
    return Match(
        (float(lags[top]) + _between(heights, top)) * STEP_S,
        max(FINEST_S, _within(one, two, int(lags[top]))),
        float(heights[top]),
        float(scores[top]) - next_best,
        float(shared[top]) * STEP_S,
    )


def _cut(log: Speeds, start: float, end: float) -> Speeds:
    """The part of a log from ``start`` to ``end`` [s]."""
    kept = (log.times_s >= start) & (log.times_s <= end)
    return Speeds(log.times_s[kept], log.speed_ms[kept])


def _accelerations(log: Speeds, start: float) -> tuple[Floats, Mask]:
    """Accelerations [m/s²] every STEP_S from ``start`` on, 0 where not known, and where
    they are."""
    good = np.isfinite(log.speed_ms)
    times, speeds = log.times_s[good] - start, log.speed_ms[good]
    if len(times) < 2:
        return np.zeros(1), np.zeros(1, np.bool_)
    at = np.arange(0.0, times[-1] + STEP_S, STEP_S)
    after = np.clip(np.searchsorted(times, at), 1, len(times) - 1)
    inside = (at >= times[0]) & (at <= times[-1])
    known = inside & (times[after] - times[after - 1] <= GAP_S)
    values = np.interp(at, times, speeds)
    half = round(SPAN_S / STEP_S)
    made, both = np.zeros(len(at)), np.zeros(len(at), np.bool_)
    if len(at) > 2 * half:
        made[half:-half] = (values[2 * half :] - values[: -2 * half]) / (2 * SPAN_S)
        whole = np.convolve(known, np.ones(2 * half + 1), "valid") > 2 * half + 0.5
        both[half:-half] = whole
    return np.where(both, made, 0.0), both


def _heights(
    recorder: tuple[Floats, Mask], reference: tuple[Floats, Mask], most: int
) -> tuple[Floats, Floats]:
    """r at lags -most .. most, nan where too little is shared; and samples shared.

    At lag L, sample n + L of the recorder meets sample n of the reference.
    """
    (one, known), (two, known2) = recorder, reference
    size = 1 << int(np.ceil(np.log2(len(one) + len(two))))
    place = np.arange(-most, most + 1) % size

    def spectrum(values: NDArray[np.generic]) -> NDArray[np.complex128]:
        return np.fft.rfft(values.astype(np.float64), size)

    def meet(left: NDArray[np.complex128], right: NDArray[np.complex128]) -> Floats:
        found: Floats = np.fft.irfft(left * np.conj(right), size)[place]
        return found

    first, first_known, first_square = spectrum(one), spectrum(known), spectrum(one**2)
    second, second_known, second_square = spectrum(two), spectrum(known2), spectrum(two**2)
    shared = np.maximum(np.round(meet(first_known, second_known)), 0.0)
    count = np.maximum(shared, 1.0)
    sum1, sum2 = meet(first, second_known), meet(first_known, second)
    both = meet(first, second) - sum1 * sum2 / count
    square1 = meet(first_square, second_known) - sum1**2 / count
    square2 = meet(first_known, second_square) - sum2**2 / count
    enough = (shared * STEP_S >= LEAST_S) & (np.minimum(square1, square2) > count * DEAF_MS2**2)
    # Beyond what the series can reach, lags come round again.
    lags = np.arange(-most, most + 1)
    enough &= (lags < len(one)) & (-lags < len(two))
    scale = np.sqrt(np.where(enough, square1 * square2, 1.0))
    return np.where(enough, both / scale, np.nan), shared


def _between(heights: Floats, top: int) -> float:
    """Where the parabola through the peak and its neighbours is highest, in samples from it."""
    if not 0 < top < len(heights) - 1:
        return 0.0
    left, middle, right = heights[top - 1 : top + 2]
    bend = left - 2 * middle + right
    if not np.isfinite(bend) or bend >= 0:
        return 0.0
    return float(np.clip((left - right) / (2 * bend), -0.5, 0.5))


def _within(one: tuple[Floats, Mask], two: tuple[Floats, Mask], lag: int) -> float:
    """How far off [s] the lag may be for noise, 95 %.

    With e = a - k b what the logs do not share and b' the slope of the reference, a lag that is off
    by d adds k d b' to e: d = sum(e b') / sum(a' b'). Its spread comes from sums over blocks,
    which hold also where noise lasts (cluster-robust, as in econometrics texts).
    """
    begin, end = max(0, -lag), min(len(two[0]), len(one[0]) - lag)
    left, right = one[0][begin + lag : end + lag], two[0][begin:end]
    known = one[1][begin + lag : end + lag] & two[1][begin:end]
    slope = np.gradient(right, STEP_S)
    left, right = left - left[known].mean(), right - right[known].mean()
    factor = float(left[known] @ right[known]) / float(right[known] @ right[known])
    push = np.where(known, (left - factor * right) * slope, 0.0)
    # Noise has slopes, too, but none that both logs share.
    steep = float(np.gradient(left, STEP_S)[known] @ slope[known])
    size = round(BLOCK_S / STEP_S)
    sums = np.add.reduceat(push, np.arange(0, len(push), size))
    if steep <= 0 or len(sums) < 2:
        return NEVER_S
    sigma = float(np.sqrt(np.sum(sums**2))) / steep
    return t_quantile(0.95, len(sums) - 1) * sigma


def _lasting(one: tuple[Floats, Mask], two: tuple[Floats, Mask]) -> float:
    """Samples that count as one: the variance of r between logs that have nothing to do with each
    other is that much more than 1 / n (M. S. Bartlett 1946, from memory)."""
    reach = round(LASTING_S / STEP_S)
    rows = []
    for values, known in (one, two):
        centred = np.where(known, values - values[known].mean(), 0.0)
        size = 1 << int(np.ceil(np.log2(2 * len(centred))))
        found = np.fft.irfft(np.abs(np.fft.rfft(centred, size)) ** 2, size)[:reach]
        rows.append(found / found[0] if found[0] > 0 else np.zeros(reach))
    size = min(map(len, rows))
    product = rows[0][:size] * rows[1][:size]
    return max(1.0, float(2 * product.sum() - product[0]))
