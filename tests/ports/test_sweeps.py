"""Sweeps run compiled where that can be had, and as they are where not."""

from __future__ import annotations

import importlib
from types import ModuleType

import numpy as np
import pytest

from asfound.calc.motion_filters import butterworth
from asfound.ports.backends import sweep_numba
from asfound.ports.sweeps import PlainSweeps, Sweeps


@pytest.fixture(autouse=True)
def anew() -> None:
    sweep_numba.sweeps.cache_clear()


def filtered(machine: Sweeps) -> bytes:
    one, x = butterworth(5.0, 50.0), np.random.default_rng(7).normal(size=500)
    memory, out = one.settled() * x[0], np.empty(500)
    machine.run_sections(x, one.sections, memory, out)
    return out.tobytes()


def test_compiled_gives_the_same_bits() -> None:
    machine = sweep_numba.sweeps()
    assert machine.compiled
    assert filtered(machine) == filtered(PlainSweeps())


def test_without_the_compiler_it_works_too(monkeypatch: pytest.MonkeyPatch) -> None:
    real = importlib.import_module

    def missing(name: str, package: str | None = None) -> ModuleType:
        if name.startswith("numba"):
            raise ImportError(name)
        return real(name, package)

    monkeypatch.setattr(importlib, "import_module", missing)
    machine = sweep_numba.sweeps()
    assert not machine.compiled
    assert filtered(machine) == filtered(PlainSweeps())


def test_no_place_to_keep_what_was_compiled(monkeypatch: pytest.MonkeyPatch) -> None:
    numba = importlib.import_module("numba")
    real = numba.njit

    def refuses(*args: object, **kept: object) -> object:
        if kept.get("cache"):
            raise RuntimeError("cannot cache function: no locator available")
        return real(*args)

    monkeypatch.setattr(numba, "njit", refuses)
    assert filtered(sweep_numba.sweeps()) == filtered(PlainSweeps())
