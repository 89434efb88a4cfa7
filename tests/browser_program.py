"""The browser that the tests drive (tests only)."""

from __future__ import annotations

import shutil

PROGRAMS = ("chromium-headless-shell", "chromium")
"""The first that is there: Chromium without its own windows and menus, which draws pages the same
and nothing besides."""


def chromium() -> str:
    """Where it is. Raises AssertionError when there is none."""
    for name in PROGRAMS:
        if program := shutil.which(name):
            return program
    raise AssertionError(f"{PROGRAMS[0]} is missing; make test installs it")
