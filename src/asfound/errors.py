"""Every error asfound raises on purpose, and the exit code each one carries.

    AsfoundError
    ├── UsageError            2   the call itself is off (arguments, options)
    ├── MapError              3   a menu map is wrong: file, line, field
    ├── PictureError          4   a file is not a picture we can read
    ├── RecordingError        5   no recording could be looked at, at all
    ├── StorageError          6   disk full, read-only, file locked
    ├── GateShut              7   a step is locked until its gates hold
    ├── NotFound              8   unknown page, field, vehicle, visit, file
    ├── IntegrityError        9   a journal, blob or bundle is not what it was
    ├── MissingPart          10   an optional part (engine, font) is not installed
    ├── InputError           11   another input file (fleet, procedure, expectation) is wrong
    └── Interrupted         130   stopped by the user; what was done is kept

Rule: the message is one line that says what is wrong, where, and what to do.
"""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """Exit codes of the command line; documented in docs/exit-codes.md."""

    OK = 0
    FINDINGS = 1
    USAGE = 2
    BAD_MAP = 3
    BAD_PICTURE = 4
    BAD_RECORDING = 5
    STORAGE = 6
    GATE_SHUT = 7
    NOT_FOUND = 8
    INTEGRITY = 9
    MISSING_PART = 10
    BAD_INPUT = 11
    INTERRUPTED = 130


class AsfoundError(Exception):
    """Base of all errors raised on purpose; ``exit_code`` is what the CLI returns."""

    exit_code: ExitCode = ExitCode.USAGE


class UsageError(AsfoundError):
    """The call itself is off."""


class MapError(AsfoundError):
    """A menu map cannot be used."""

    exit_code = ExitCode.BAD_MAP


class PictureError(AsfoundError):
    """A file is not a picture that can be read."""

    exit_code = ExitCode.BAD_PICTURE


class RecordingError(AsfoundError):
    """No recording could be looked at."""

    exit_code = ExitCode.BAD_RECORDING


class StorageError(AsfoundError):
    """The disk is full, read-only or otherwise refuses."""

    exit_code = ExitCode.STORAGE


class GateShut(AsfoundError):
    """A step is locked until its gates hold."""

    exit_code = ExitCode.GATE_SHUT


class NotFound(AsfoundError):
    """Something named in the call does not exist."""

    exit_code = ExitCode.NOT_FOUND


class IntegrityError(AsfoundError):
    """Stored material is not what it was when it was written."""

    exit_code = ExitCode.INTEGRITY


class MissingPart(AsfoundError):
    """An optional part is not installed."""

    exit_code = ExitCode.MISSING_PART


class InputError(AsfoundError):
    """An input file other than a menu map or a picture is wrong."""

    exit_code = ExitCode.BAD_INPUT


class Interrupted(AsfoundError):
    """Stopped by the user; everything finished so far is kept."""

    exit_code = ExitCode.INTERRUPTED
