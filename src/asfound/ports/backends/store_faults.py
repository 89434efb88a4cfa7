"""What a database's refusals mean for a person: every driver error becomes one line."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.exc import IntegrityError as KeyTaken

from asfound.errors import AsfoundError, IntegrityError, StorageError, UsageError
from asfound.ports.backends.store_faults_postgres import postgres_fault

_REFUSED = {
    "SQLITE_FULL": "the disk is full; free some space and do the last step again",
    "SQLITE_READONLY": "the database is read-only; mount the disk writable or choose another "
    "folder (--home)",
    "SQLITE_CANTOPEN": "the database cannot be opened or made there; check that the folder exists "
    "and may be written, or choose another (--home)",
    "SQLITE_BUSY": "another program holds the database; close it and do the last step again",
    "SQLITE_LOCKED": "another program holds the database; close it and do the last step again",
    "SQLITE_IOERR": "the disk reports a fault while reading or writing; free some space, check "
    "the disk and do the last step again",
    "SQLITE_PERM": "permission denied; mend the permissions or choose another folder (--home)",
    "SQLITE_PROTOCOL": "another program holds the database; close it and do the last step again",
}
_DAMAGED = ("SQLITE_CORRUPT", "SQLITE_NOTADB", "SQLITE_SCHEMA", "SQLITE_FORMAT")
_NOT_OURS = ("no such table", "no such column", "Could not decode to UTF-8")
"""Faults without a code of their own: tables or text that asfound did not write."""


def fault(error: SQLAlchemyError, place: str) -> AsfoundError:
    """``error`` as a StorageError or IntegrityError naming the database."""
    if isinstance(error, KeyTaken):
        return IntegrityError(f"{place}: someone else wrote in between; reload and do it again")
    origin = error.orig if isinstance(error, DBAPIError) else error
    if isinstance(origin, sqlite3.Error):
        return _sqlite_fault(origin, place)
    if isinstance(error, DBAPIError) and origin is not None:
        code = getattr(origin, "sqlstate", None)
        return postgres_fault(origin, code, error.connection_invalidated, place)
    return StorageError(
        f"{place}: {_first_line(origin)}; check that the database can be reached and try again"
    )


def _sqlite_fault(error: sqlite3.Error, place: str) -> AsfoundError:
    # Extended codes (SQLITE_IOERR_WRITE, SQLITE_READONLY_DBMOVED) begin with the primary one.
    name = str(getattr(error, "sqlite_errorname", ""))
    for start, means in _REFUSED.items():
        if name.startswith(start):
            return StorageError(f"{place}: {means}")
    if name.startswith(_DAMAGED) or any(part in str(error) for part in _NOT_OURS):
        return IntegrityError(
            f"{place}: is damaged or not a database of asfound; bring it back from a copy"
        )
    return StorageError(f"{place}: {_first_line(error)}; do the last step again")


def _first_line(error: BaseException | None) -> str:
    lines = str(error).strip().splitlines()
    return lines[0] if lines else type(error).__name__


@contextmanager
def faults_named(place: str) -> Iterator[None]:
    """Turn whatever the database refuses in this block into one line."""
    try:
        yield
    except SQLAlchemyError as error:
        raise fault(error, place) from None
    except UnicodeEncodeError:
        raise UsageError(
            "what was typed is not text in UTF-8, and cannot be looked up or kept; type it anew"
        ) from None
