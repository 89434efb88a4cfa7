"""The whole command line: registers the commands, turns errors into one line and an exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Annotated, Any

import typer
from typer import TyperException

from asfound.calc.plain_text import plain
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
    "map", "draft", "read", "rekey", "compare", "prove", "coverage", "cut", "check", "days",
    "drive", "stick", "leads", "power", "lens", "clock", "speed", "triggers", "fault", "fleet",
    "firmware", "hold", "request", "rollout", "evidence", "verify", "bundle", "visit", "report",
    "serve", "demo",
)  # fmt: skip
"""Every command, in the order of the job: the module of its name in this package registers it."""

VERSION_OPTION = "--version"

ONE_LINE = (NotFound, RecordingError, StorageError, UsageError, IntegrityError)
"""Errors that never list several faults."""


def _version(wanted: bool) -> None:
    if wanted:
        sys.stdout.write(f"asfound {VERSION}\n")
        raise typer.Exit


def load(arguments: Sequence[str]) -> tuple[Any, ...]:
    """The modules that a call needs: that of the command it begins with, or all of them; none to
    say the version.

    All of them cost seconds (databases, web pages, reading): whoever stands at a vehicle does not
    wait for what was not called.
    """
    if VERSION_OPTION in arguments[:1]:
        return ()
    called = tuple(name for name in COMMANDS if name in arguments[:1])
    return tuple(import_module(f"asfound.cli.{name}") for name in called or COMMANDS)


def build(arguments: Sequence[str] = ()) -> typer.Typer:
    """The command line, as far as a call needs it; without arguments the whole."""
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
            bool,
            typer.Option(VERSION_OPTION, callback=_version, is_eager=True, help="Show version."),
        ] = False,
    ) -> None:
        """Settings as found and as left, and proof that each camera records."""

    for module in load(arguments):
        module.register(app)
    return app


def call(arguments: list[str]) -> int:
    """Run one command and return its exit code; errors become one line on stderr."""
    try:
        code = build(arguments)(arguments, prog_name="asfound", standalone_mode=False)
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
