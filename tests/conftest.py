"""What many tests share: the browser, a database server, and property tests whose examples are
the same on every machine, so that a failure means a change.

To search for new counterexamples: HYPOTHESIS_PROFILE=search pytest tests/calc
"""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, expect, sync_playwright
from tests.browser_program import chromium
from tests.covered import Covered
from tests.postgres_server import Postgres, postgres_server

LONGEST = ("test_pages_whole", "test_pages_axe", "test_demo")
"""Modules of tests that take minutes."""

PATIENCE_MS = 30_000
"""How long a page may take to show something; a busy machine is no fault."""

settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None, max_examples=2000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))


def pytest_addoption(parser: pytest.Parser) -> None:
    """``--covered``: note which code the tests reach."""
    parser.addoption("--covered", action="store_true", help="note which code the tests reach")


def pytest_configure(config: pytest.Config) -> None:
    """Ctrl-C reaches the programs under test also where the suite runs in the background: a shell
    lets its background jobs ignore it (POSIX, Shell Command Language, 2.11)."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    if config.getoption("covered"):
        # Before a test imports what it tests.
        config.pluginmanager.register(Covered())


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest first: else one of two processes waits at the end for the other."""
    items.sort(key=lambda item: item.path.stem not in LONGEST)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """The system's Chromium."""
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as tools:
        flags = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        started = tools.chromium.launch(executable_path=chromium(), args=flags)
        yield started
        started.close()


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """The PostgreSQL server, started for the first test that asks for it."""
    with postgres_server() as server:
        yield server
