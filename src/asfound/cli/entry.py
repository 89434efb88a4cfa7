"""The console script: light itself, so that Ctrl-C is answered while the commands load.

Loading them takes a second or more. A KeyboardInterrupt raised in the middle of it can end as
anything (extension modules wrap it into an ImportError, or drop it), so the signal is answered
by a handler that ends the process: nothing is open yet that could be lost.
"""

from __future__ import annotations

import os
import signal
import sys
from importlib import import_module
from types import FrameType

from asfound.errors import ExitCode

STOPPED = "asfound: stopped; what was finished is kept"
"""What an interrupted command says, whenever that was."""

COMMAND_LINE = "asfound.cli.main"


def run() -> None:
    """Load the commands, run the one that was called, and exit with its code."""
    # A shell that starts a command in the background has it ignore Ctrl-C: left as it is.
    ours = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if ours:
        signal.signal(signal.SIGINT, _end)
    command_line = import_module(COMMAND_LINE)
    command_line.load(sys.argv[1:])
    try:
        if ours:
            signal.signal(signal.SIGINT, signal.default_int_handler)
        code: int = command_line.call(sys.argv[1:])
        if ours:
            # All is done and said: the code is to say so, too, while Python winds up.
            signal.signal(signal.SIGINT, signal.SIG_IGN)
    except KeyboardInterrupt:
        sys.stderr.write(f"{STOPPED}\n")
        code = int(ExitCode.INTERRUPTED)
    sys.exit(code)


def _end(_signal: int, _frame: FrameType | None) -> None:
    os.write(2, f"{STOPPED}\n".encode("ascii"))
    os._exit(int(ExitCode.INTERRUPTED))
