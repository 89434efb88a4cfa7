"""Fails when jobs, calc or model fall below 90 % coverage (lines and branches together)."""

from __future__ import annotations

import io
import sys

from coverage import Coverage

FLOOR = 90.0
FLOORS = ("jobs", "calc", "model")


def main() -> int:
    """Print the coverage of each floor; 1 when one is below FLOOR."""
    coverage = Coverage()
    coverage.load()
    failed = False
    for name in FLOORS:
        share = coverage.report(include=[f"*/asfound/{name}/*"], file=io.StringIO())
        failed = failed or share < FLOOR
        sys.stdout.write(f"coverage of {name}: {share:.1f} % (at least {FLOOR:.0f} %)\n")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
