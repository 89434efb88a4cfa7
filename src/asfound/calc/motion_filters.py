"""Low-pass filters for acceleration, as a recorder could run them or as crash tests define them.

**Butterworth** of even order n: |H|² = 1 / (1 + (f/fc)^(2n)). Each pair of poles is a second-order
section of quality Q_k = 1 / (2 sin((2k - 1) pi / 2n)), k = 1 … n/2, brought to samples by the
bilinear transform with the cut-off held (K = tan(pi fc / fs)):

    b0 = K² / d, b1 = 2 b0, b2 = b0, a1 = 2 (K² - 1) / d, a2 = (1 - K/Q + K²) / d, d = 1 + K/Q + K²

Source: Oppenheim, Schafer, *Discrete-Time Signal Processing*, 3rd ed., chapter 7 (from memory);
held against scipy.signal.butter in the tests. It runs forward only: causal, with delay.

**Channel frequency classes** (CFC) of SAE J211-1 / ISO 6487: one section of the same kind with
Q = 1/sqrt(2) and K = tan(wd T / 2), wd = 2 pi CFC 2.0775 (J211's factor; ISO's text has
1.25 · 5/3 = 2.0833), run forward and then backward, so that nothing is delayed. Two passes are
3 dB down at CFC · 1.6667 Hz. Valid from 10 · CFC samples a second.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin, sqrt, tan

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CFC_LEAST_HZ = {60: 600.0, 180: 1800.0, 600: 6000.0, 1000: 10_000.0}
"""Least sampling rate [Hz] of each channel frequency class (SAE J211-1, ISO 6487)."""
J211_FACTOR = 2.0775
MOST_OF_RATE = 0.45
"""A cut-off above this share of the sampling rate is no filter any more (own choice; half the
rate is the limit by Nyquist)."""


@dataclass(frozen=True, slots=True, eq=False)
class Filter:
    """``sections`` (s, 5): b0, b1, b2, a1, a2 of each second-order section (a0 = 1), in the order
    in which they run; no section at all lets everything through. ``name`` for people."""

    sections: Floats
    name: str

    def settled(self) -> Floats:
        """(s, 2): what each section remembers after a long time at 1 (transposed direct form II);
        all sections have gain 1 at 0 Hz."""
        b0, b2, a2 = self.sections[:, 0], self.sections[:, 2], self.sections[:, 4]
        return np.stack([1 - b0, b2 - a2], axis=1)

    def gain(self, hz: float, rate_hz: float) -> float:
        """|H| of one pass at ``hz`` when sampled at ``rate_hz``."""
        z = np.exp(-2j * pi * hz / rate_hz)
        b0, b1, b2, a1, a2 = self.sections.T
        return float(abs(np.prod((b0 + b1 * z + b2 * z**2) / (1 + a1 * z + a2 * z**2))))


NO_FILTER = Filter(np.empty((0, 5)), "no filter")


def butterworth(cut_hz: float, rate_hz: float, order: int = 4) -> Filter:
    """Butterworth low-pass of even ``order``, 3 dB down at ``cut_hz``.

    Raises ValueError: odd order, or a cut-off that ``rate_hz`` does not carry.
    """
    if order < 2 or order % 2:
        raise ValueError(f"order {order}: 2, 4, 6 … are made")
    if not 0 < cut_hz <= MOST_OF_RATE * rate_hz:
        raise ValueError(
            f"{cut_hz:g} Hz is no low-pass at {rate_hz:g} samples a second: at most "
            f"{MOST_OF_RATE * rate_hz:.3g} Hz"
        )
    k = tan(pi * cut_hz / rate_hz)
    rows = [_section(k, 1 / (2 * sin((2 * n + 1) * pi / (2 * order)))) for n in range(order // 2)]
    return Filter(np.array(rows), f"Butterworth low-pass {cut_hz:g} Hz, order {order}, causal")


def channel_class(cfc: int, rate_hz: float) -> Filter:
    """One pass of a channel frequency class: ``both_ways`` runs it as the standards say.

    Raises ValueError: unknown class, or too few samples a second for it.
    """
    least = CFC_LEAST_HZ.get(cfc)
    if least is None:
        raise ValueError(f"CFC {cfc}: the classes are {', '.join(map(str, CFC_LEAST_HZ))}")
    if rate_hz < least:
        raise ValueError(
            f"CFC {cfc} needs {least:g} samples a second, the log has {rate_hz:.4g}; take a "
            "Butterworth low-pass"
        )
    k = tan(2 * pi * cfc * J211_FACTOR / rate_hz / 2)
    return Filter(np.array([_section(k, 1 / sqrt(2))]), f"CFC {cfc} (SAE J211-1), both ways")


def _section(k: float, quality: float) -> tuple[float, float, float, float, float]:
    below = 1 + k / quality + k * k
    b0 = k * k / below
    return b0, 2 * b0, b0, 2 * (k * k - 1) / below, (1 - k / quality + k * k) / below


def run_sections(x: Floats, sections: Floats, memory: Floats, out: Floats) -> None:
    """Filters ``x`` (n,) into ``out`` (n,); ``memory`` (s, 2) goes from one block to the next.

    Transposed direct form II, sample by sample: the same bits whatever the blocks. Written so that
    it can be compiled (ports/backends/sweep_numba.py) and runs without.
    """
    if len(sections) == 2:
        run_two(x, sections, memory, out)
        return
    for i in range(len(x)):
        value = x[i]
        for s in range(len(sections)):
            y = sections[s, 0] * value + memory[s, 0]
            memory[s, 0] = sections[s, 1] * value - sections[s, 3] * y + memory[s, 1]
            memory[s, 1] = sections[s, 2] * value - sections[s, 4] * y
            value = y
        out[i] = value


def run_two(x: Floats, sections: Floats, memory: Floats, out: Floats) -> None:
    """The same for two sections: figures that stay in registers make it three times as fast."""
    p0, p1, p2, p3, p4 = sections[0]
    q0, q1, q2, q3, q4 = sections[1]
    m0, m1 = memory[0]
    n0, n1 = memory[1]
    for i in range(len(x)):
        value = x[i]
        y = p0 * value + m0
        m0 = p1 * value - p3 * y + m1
        m1 = p2 * value - p4 * y
        z = q0 * y + n0
        n0 = q1 * y - q3 * z + n1
        n1 = q2 * y - q4 * z
        out[i] = z
    memory[0, 0], memory[0, 1], memory[1, 0], memory[1, 1] = m0, m1, n0, n1
