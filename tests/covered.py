"""Which lines and branches the tests reach: ``pytest --covered``, in each of its processes.

The code is instrumented as it is imported, instead of traced as it runs, and the tests take hardly
longer (docs/decisions/0018). What each process reached is put together in COVERED, which
tools/coverage_floor.py reads.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import slipcover

ROOT = Path(__file__).resolve().parents[1]
FLOORS = [ROOT / "src" / "asfound" / name for name in ("jobs", "calc", "model")]
"""What is counted: to instrument a module takes far longer than to import it."""

COVERED = ROOT / ".coverage.json"

COMPILED = ("*/calc/motion_filters.py", "*/calc/trigger_sweep.py")
"""What numba compiles from its bytecode, which has to be as it was written."""

FOR_GOOD = 1_000_000_000
"""The instruments stay: to take them out, all functions of all modules are gone through, which
costs many times what a reached instrument does."""

KEY = "covered"
"""Under which a worker hands over what it saw."""


class Covered:
    """Gathers what this process and its workers reached."""

    def __init__(self) -> None:
        self._seen = slipcover.Slipcover(
            branch=True, d_miss_threshold=FOR_GOOD, omit=list(COMPILED)
        )
        files = slipcover.FileMatcher(FLOORS, list(COMPILED))
        self._imports = slipcover.ImportManager(self._seen, files)
        self._imports.__enter__()
        self._workers: list[str] = []

    def pytest_testnodedown(self, node: object) -> None:
        """A worker ended; one that crashed hands nothing over."""
        output: dict[str, str] = getattr(node, "workeroutput", {})
        self._workers += [output[KEY]] if KEY in output else []

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        """Hand over what was reached, or write what all reached."""
        self._imports.__exit__(None, None, None)
        reached = self._seen.get_coverage()
        output = getattr(session.config, "workeroutput", None)
        if output is not None:
            output[KEY] = json.dumps(reached)
            return
        for worker in self._workers:
            slipcover.merge_coverage(reached, json.loads(worker))
        # What nobody imported counts, too.
        known = [*COMPILED, *reached["files"]]
        rest = slipcover.Slipcover(branch=True, source=[str(one) for one in FLOORS], omit=known)
        slipcover.merge_coverage(reached, rest.get_coverage())
        COVERED.write_text(json.dumps(reached))
