"""Ctrl-C in the first second, while the program still loads: one line and the documented code."""

from __future__ import annotations

import signal
import subprocess
import sys
import time

import pytest

from asfound.cli.entry import STOPPED
from asfound.errors import ExitCode

# What the console script does, and a sign that Python itself is up: a signal that comes while the
# interpreter starts is beyond any program.
SCRIPT = """
import os, sys
from asfound.cli.entry import run
import asfound.cli.entry as entry
load = entry.import_module
def loading(name):
    os.write(1, b"up\\n")
    return load(name)
entry.import_module = loading
sys.exit(run())
"""


def stopped_after(seconds: float, *arguments: str) -> tuple[int, str]:
    """(exit code, stderr) of a command that was sent SIGINT that long after it began to load."""
    child = subprocess.Popen(
        [sys.executable, "-c", SCRIPT, *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    with child:
        assert child.stdout is not None and child.stderr is not None
        assert child.stdout.readline() == b"up\n"
        time.sleep(seconds)
        child.send_signal(signal.SIGINT)
        _, err = child.communicate(timeout=60)
    return child.returncode, err.decode()


@pytest.mark.parametrize("seconds", [0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4])
def test_while_loading(seconds: float) -> None:
    code, err = stopped_after(seconds, "map", "check", "quillfen-octad")
    assert (code, err) == (ExitCode.INTERRUPTED, f"{STOPPED}\n")


@pytest.mark.parametrize("seconds", [0.8, 1.1, 1.4, 1.7, 2.0])
def test_where_loading_ends_and_work_begins(seconds: float) -> None:
    # How fast it loads is the machine's affair: it may have finished before.
    code, err = stopped_after(seconds, "map", "show", "quillfen-octad")
    assert "Traceback" not in err and "Exception ignored" not in err
    assert (code, err) in ((ExitCode.INTERRUPTED, f"{STOPPED}\n"), (ExitCode.OK, ""))


def test_a_command_that_is_to_ignore_it_goes_on() -> None:
    # POSIX, sh, 2.11: commands started in the background ignore the interrupt signal.
    script = f'trap "" INT; "{sys.executable}" -m asfound --version'
    child = subprocess.Popen(
        ["sh", "-c", script], stdout=subprocess.PIPE, stderr=subprocess.PIPE, process_group=0
    )
    with child:
        time.sleep(0.3)
        child.send_signal(signal.SIGINT)
        out, err = child.communicate(timeout=60)
    assert (child.returncode, err) == (0, b"") and out.startswith(b"asfound ")
