"""The figures of a long fuzz run outlive a short one without faults, and only such a one."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

import fuzz_pictures

LONG = '{"cases": 60500}'


@pytest.fixture
def stored(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "fuzz_pictures.json"
    monkeypatch.setattr(fuzz_pictures, "RESULTS", path)
    monkeypatch.setattr("sys.argv", ["fuzz_pictures.py", "0.001", "3"])
    return path


@pytest.fixture
def run(stored: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[int, list[str]], int]:
    """A run of so many cases and these faults, whatever the loader really does."""

    def go(cases: int, faults: list[str]) -> int:
        found = fuzz_pictures.Found(Counter(refused=cases), Counter(), faults)
        seconds = iter((0.0, 0.0))
        clock = SimpleNamespace(perf_counter=lambda: next(seconds, 9.0))
        monkeypatch.setattr(fuzz_pictures, "time", clock)
        monkeypatch.setattr(fuzz_pictures, "batch", lambda seed, folder: found)
        return fuzz_pictures.main()

    return go


def test_the_longest_run_is_kept(stored: Path, run: Callable[[int, list[str]], int]) -> None:
    assert run(20, []) == 0
    assert json.loads(stored.read_text())["cases"] == 20
    stored.write_text(LONG)
    assert run(20, []) == 0 and stored.read_text() == LONG
    assert run(60_501, []) == 0
    assert json.loads(stored.read_text())["cases"] == 60_501


def test_a_fault_is_stored_however_short_the_run(
    stored: Path, run: Callable[[int, list[str]], int]
) -> None:
    stored.write_text(LONG)
    assert run(20, ["png: crash"]) == 1
    assert json.loads(stored.read_text())["faults"] == ["png: crash"]
