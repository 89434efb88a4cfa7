"""Fails when jobs, calc or model fall below 90 % coverage (lines and branches together)."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
COVERED = ROOT / ".coverage.json"
"""What ``pytest --covered`` reached (tests/covered.py)."""

FLOOR = 90.0
FLOORS = ("jobs", "calc", "model")

LEAST = 5
"""Modules to name that are covered least."""


def main() -> int:
    """Print the coverage of each floor; 1 when one is below FLOOR."""
    files: Mapping[str, Any] = json.loads(COVERED.read_text())["files"]
    failed = False
    for name in FLOORS:
        below = {path: one for path, one in files.items() if f"asfound/{name}/" in path}
        share = _share(below)
        failed = failed or share < FLOOR
        sys.stdout.write(f"coverage of {name}: {share:.1f} % (at least {FLOOR:.0f} %)\n")
    shares = {path: _share({path: one}) for path, one in files.items()}
    for path in sorted(shares, key=lambda path: (shares[path], path))[:LEAST]:
        sys.stdout.write(f"least: {shares[path]:.1f} % {path}\n")
    return int(failed)


def _share(files: Mapping[str, Any]) -> float:
    """Percent of lines and branches of the files that were reached; 100 when there are none."""
    reached = sum(_count(one, "executed") for one in files.values())
    missed = sum(_count(one, "missing") for one in files.values())
    return 100.0 * reached / (reached + missed) if reached + missed else 100.0


def _count(one: Mapping[str, Any], kind: str) -> int:
    return len(one[f"{kind}_lines"]) + len(one[f"{kind}_branches"])


if __name__ == "__main__":
    sys.exit(main())
