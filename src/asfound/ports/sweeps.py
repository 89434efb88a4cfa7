"""Sweeps: what goes over every sample of a log, one after the other."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from asfound.calc.motion_filters import Floats, run_sections
from asfound.calc.trigger_sweep import Ints, Spans, State, shut, sweep


class Sweeps(Protocol):
    """Three functions of calc that may be compiled: the same results, sooner."""

    @property
    def compiled(self) -> bool:
        """False: a hundred times slower, about a microsecond a sample."""
        ...

    def run_sections(self, x: Floats, sections: Floats, memory: Floats, out: Floats) -> None:
        """calc.motion_filters.run_sections."""
        ...

    def sweep(
        self,
        x: NDArray[np.floating],
        first: int,
        levels: Floats,
        needs: Ints,
        hold: int,
        state: State,
        spans: Spans,
    ) -> None:
        """calc.trigger_sweep.sweep."""
        ...

    def shut(self, end: int, needs: Ints, hold: int, state: State, spans: Spans) -> None:
        """calc.trigger_sweep.shut."""
        ...


class PlainSweeps:
    """As they stand in calc."""

    compiled = False

    run_sections = staticmethod(run_sections)
    sweep = staticmethod(sweep)
    shut = staticmethod(shut)
