"""The whole command line: registers the commands, turns errors into one line and an exit code."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer
from typer import TyperException

from asfound.calc.plain_text import plain
from asfound.cli import (
    bundle,
    check,
    clock,
    compare,
    coverage,
    cut,
    days,
    demo,
    draft,
    drive,
    evidence,
    fault,
    firmware,
    fleet,
    hold,
    leads,
    lens,
    map,
    power,
    prove,
    read,
    rekey,
    report,
    request,
    rollout,
    serve,
    speed,
    stick,
    triggers,
    verify,
    visit,
)
from asfound.cli.entry import STOPPED
from asfound.cli.output import warn
from asfound.errors import (
    AsfoundError,
    ExitCode,
    IntegrityError,
    NotFound,
    RecordingError,
    StorageError,
    UsageError,
)
from asfound.ports.backends.disk import storage_error
from asfound.version import VERSION

COMMANDS = (
    map, draft, read, rekey, compare, prove, coverage, cut, check, days, drive, stick, leads, power,
    lens, clock, speed, triggers, fault, fleet, firmware, hold, request,
    rollout, evidence, verify, bundle, visit, report, serve, demo,
)  # fmt: skip
"""Every command module, in the order of the job."""

ONE_LINE = (NotFound, RecordingError, StorageError, UsageError, IntegrityError)
"""Errors that never list several faults."""


def _version(wanted: bool) -> None:
    if wanted:
        sys.stdout.write(f"asfound {VERSION}\n")
        raise typer.Exit


def build() -> typer.Typer:
    """The whole command line."""
    app = typer.Typer(
        name="asfound",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        help="Settings as found and as left, and proof that each camera records.",
    )

    @app.callback()
    def options(
        version: Annotated[
            bool, typer.Option("--version", callback=_version, is_eager=True, help="Show version.")
        ] = False,
    ) -> None:
        """Settings as found and as left, and proof that each camera records."""

    for module in COMMANDS:
        module.register(app)
    return app


def call(arguments: list[str]) -> int:
    """Run one command and return its exit code; errors become one line on stderr."""
    try:
        code = build()(arguments, prog_name="asfound", standalone_mode=False)
    except AsfoundError as error:
        text = str(error)
        if isinstance(error, ONE_LINE):
            # Names of files may hold line breaks.
            text = plain(text)
        warn(f"asfound: {text}")
        return int(error.exit_code)
    except TyperException as error:
        text = error.format_message().rstrip(".")
        # A group called without a command has shown its help already and says nothing more.
        if text:
            warn(f"asfound: {text}; `asfound --help` shows the commands")
        return int(ExitCode.USAGE)
    except (KeyboardInterrupt, typer.Abort):
        warn(STOPPED)
        return int(ExitCode.INTERRUPTED)
    except BrokenPipeError:
        # Whoever read our output has gone; say nothing more, also not at interpreter exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return int(ExitCode.OK)
    except OSError as error:
        if error.errno is None:
            raise
        fault = storage_error(error, Path(str(error.filename or "output")))
        warn(f"asfound: {fault}")
        return int(fault.exit_code)
    if code == ExitCode.INTERRUPTED:
        # The command framework turns Ctrl-C into a plain exit code: say what it means.
        warn(STOPPED)
    return code if isinstance(code, int) else int(ExitCode.OK)
