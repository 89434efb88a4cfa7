"""Sweeps compiled by Numba, where it is installed (the extra ``fast``).

The first call of each function compiles it, or takes what an earlier run compiled and kept beside
the source; about a second together.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable
from functools import cache
from typing import Any

from asfound.calc import motion_filters, trigger_sweep
from asfound.ports.sweeps import PlainSweeps, Sweeps


class NumbaSweeps:
    """The functions of calc, compiled."""

    compiled = True

    def __init__(self, compiled: Callable[[Callable[..., None]], Any]) -> None:
        self.run_sections = compiled(motion_filters.run_sections)
        self.sweep = compiled(trigger_sweep.sweep)
        self.shut = compiled(trigger_sweep.shut)


@cache
def sweeps() -> Sweeps:
    """Compiled where Numba is installed and can keep what it compiled, else as they are."""
    try:
        numba = importlib.import_module("numba")
        extending = importlib.import_module("numba.extending")
    except ImportError:
        return PlainSweeps()
    for called in (
        motion_filters.run_two,
        trigger_sweep.mark_spans,
        trigger_sweep.is_inside,
        trigger_sweep.fire,
    ):
        # They stay plain functions; those that are compiled may call them.
        extending.register_jitable(called)
    try:
        return NumbaSweeps(numba.njit(cache=True))
    except RuntimeError:
        # No place to keep compiled code in: compiled anew by each process.
        return NumbaSweeps(numba.njit)
