"""The store on SQL: SQLite by default (WAL, synchronous FULL), PostgreSQL by URL.

Only the connection hooks know SQLite; statements are plain SQLAlchemy. A file database opens a
connection for each call and closes it again: nothing leaks, forks are safe, and a database
at rest is one file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event, insert, select, update
from sqlalchemy.exc import ArgumentError, NoSuchModuleError
from sqlalchemy.pool import NullPool, StaticPool

from asfound.errors import IntegrityError, MissingPart, StorageError, UsageError
from asfound.model.hold import Hold
from asfound.model.journal import GENESIS, Entry, entry_hash
from asfound.model.key_tick import KeyTick
from asfound.model.place_picture import PlacePicture
from asfound.model.visit_line import EVERY, LineQuery, VisitLine
from asfound.ports.backends.disk import storage_error
from asfound.ports.backends.store_faults import faults_named
from asfound.ports.backends.store_lines import closed_entries, heads, keep_line, lines
from asfound.ports.backends.store_places import place_pictures, save_place_picture
from asfound.ports.backends.store_requests import append_request, request_entries
from asfound.ports.backends.store_tables import (
    ENTRIES,
    HOLDS,
    RELEASE,
    entry_row,
    hold_row,
    row_entry,
    row_hold,
)
from asfound.ports.backends.store_ticks import save_tick, ticks, ticks_stamp

MIGRATIONS = Path(__file__).parent / "migrations"
BUSY_S = 5.0
"""How long a call waits for another program's write before it gives up."""


class SqlStore:
    """Journals and holds in a SQL database; migrations run at opening.

    ``url`` is an SQLAlchemy URL, e.g. ``sqlite:////home/x/asfound.db`` or
    ``postgresql+psycopg://user@host/asfound``. Raises StorageError, IntegrityError (damaged),
    UsageError (the URL is off), MissingPart (no driver for it).
    """

    def __init__(self, url: str, busy_s: float = BUSY_S) -> None:
        self._engine = _engine(url, busy_s)
        database = self._engine.url.database
        self.place = (
            database if _is_sqlite(self._engine) and database else str(self._engine.url)
        )  # str() of a URL hides its password
        if _is_sqlite(self._engine) and database and database != ":memory:":
            _make_parent(Path(database))
        with faults_named(self.place):
            self._migrate()

    def close(self) -> None:
        """Let go of the database; the store must not be used afterwards."""
        self._engine.dispose()

    def append(self, entry: Entry) -> None:
        """Add an entry, durable on return. Raises StorageError; IntegrityError when it does not
        continue the stored chain."""
        made = entry_hash(
            entry.visit, entry.seq, entry.at, entry.by, entry.kind, entry.data, entry.previous
        )
        if made != entry.hash:
            raise IntegrityError(f"visit {entry.visit}: entry {entry.seq} has a wrong hash")
        with self._write() as connection:
            last = connection.execute(
                select(ENTRIES.c.seq, ENTRIES.c.hash)
                .where(ENTRIES.c.visit == entry.visit)
                .order_by(ENTRIES.c.seq.desc())
                .limit(1)
            ).first()
            seq, previous = (last.seq + 1, last.hash) if last else (0, GENESIS)
            if (entry.seq, entry.previous) != (seq, previous):
                raise IntegrityError(
                    f"visit {entry.visit}: someone else wrote entry {seq - 1}; "
                    "reload the visit and do it again"
                )
            connection.execute(insert(ENTRIES).values(entry_row(entry)))
            keep_line(connection, entry)

    def entries(self, visit: str) -> Sequence[Entry]:
        """All entries of a visit in order; empty when there is none."""
        wanted = select(ENTRIES).where(ENTRIES.c.visit == visit).order_by(ENTRIES.c.seq)
        with self._read() as connection:
            return [row_entry(row) for row in connection.execute(wanted).mappings()]

    def closed_entries(self, kind: str) -> Sequence[Entry]:
        """The entries of one kind of all closed visits, by visit and in order. Raises
        StorageError, IntegrityError."""
        with self._read() as connection:
            return closed_entries(connection, kind)

    def visits(self) -> Sequence[str]:
        """Ids of all visits, newest first."""
        first = select(ENTRIES.c.visit).where(ENTRIES.c.seq == 0)
        with self._read() as connection:
            return list(
                connection.scalars(first.order_by(ENTRIES.c.at.desc(), ENTRIES.c.visit.desc()))
            )

    def lines(self, wanted: LineQuery = EVERY) -> Sequence[VisitLine]:
        """Visits in one line each, newest first. Raises StorageError, IntegrityError."""
        with self._read() as connection:
            return lines(connection, wanted)

    def heads(self, visits: Sequence[str]) -> Mapping[str, tuple[int, str]]:
        """Number of entries and last hash of each of these visits that exists."""
        with self._read() as connection:
            return heads(connection, visits)

    def save_hold(self, hold: Hold) -> None:
        """Insert a hold, or write its release. Raises StorageError; IntegrityError when the
        stored hold says otherwise (released meanwhile, or another order under this id)."""
        row = hold_row(hold)
        with self._write() as connection:
            stored = (
                connection.execute(select(HOLDS).where(HOLDS.c.id == hold.id)).mappings().first()
            )
            if stored is None:
                connection.execute(insert(HOLDS).values(row))
                return
            order = [name for name in row if name not in RELEASE]
            if any(stored[name] != row[name] for name in order):
                raise IntegrityError(f"hold {hold.id}: the stored order differs; reload the holds")
            if stored["released_at"] and any(stored[name] != row[name] for name in RELEASE):
                raise IntegrityError(
                    f"hold {hold.id}: {stored['released_by']} released it meanwhile; reload"
                )
            connection.execute(
                update(HOLDS)
                .where(HOLDS.c.id == hold.id)
                .values({name: row[name] for name in RELEASE})
            )

    def holds(self, vehicle: str | None = None) -> Sequence[Hold]:
        """Holds of one vehicle, or all, oldest first."""
        wanted = select(HOLDS).order_by(HOLDS.c.placed_at, HOLDS.c.id)
        if vehicle is not None:
            wanted = wanted.where(HOLDS.c.vehicle == vehicle)
        with self._read() as connection:
            return [row_hold(row) for row in connection.execute(wanted).mappings()]

    def save_tick(self, tick: KeyTick) -> None:
        """Keep a tick in place of an earlier one of its mark. Raises StorageError."""
        with self._write() as connection:
            save_tick(connection, tick)

    def ticks(self, visit: str) -> Sequence[KeyTick]:
        """A visit's ticks, oldest first, those taken back among them."""
        with self._read() as connection:
            return ticks(connection, visit)

    def ticks_stamp(self, visit: str) -> str:
        """Changes whenever a tick of the visit does; "" while there is none."""
        with self._read() as connection:
            return ticks_stamp(connection, visit)

    def save_place_picture(self, picture: PlacePicture) -> None:
        """Keep the photograph of where a vehicle's recorder sits. Raises StorageError."""
        with self._write() as connection:
            save_place_picture(connection, picture)

    def place_pictures(self, vehicle: str) -> Sequence[PlacePicture]:
        """A vehicle's photographs of that place, newest first, those taken away among them."""
        with self._read() as connection:
            return place_pictures(connection, vehicle)

    def append_request(self, entry: Entry) -> None:
        """Add an entry to a log of requests or deletions. Raises StorageError, IntegrityError."""
        with self._write() as connection:
            append_request(connection, entry)

    def request_entries(self, log: str | None = None) -> Sequence[Entry]:
        """The entries of one such log, or of all, log by log."""
        with self._read() as connection:
            return request_entries(connection, log)

    @contextmanager
    def _read(self) -> Iterator[Connection]:
        with faults_named(self.place), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def _write(self) -> Iterator[Connection]:
        writer = self._engine.execution_options(asfound_write=True)
        with faults_named(self.place), writer.begin() as connection:
            yield connection

    def _migrate(self) -> None:
        """Bring the tables to the newest migration; refuse a database from a newer asfound."""
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
        script = ScriptDirectory.from_config(config)
        known = {revision.revision for revision in script.walk_revisions()}
        with self._engine.connect() as connection:
            present = MigrationContext.configure(connection).get_current_revision()
        if present == script.get_current_head():
            return
        if present is not None and present not in known:
            raise StorageError(
                f"{self.place}: was made by a newer asfound (tables {present}); "
                "bring asfound up to date, or choose another folder (--home)"
            )
        writer = self._engine.execution_options(asfound_write=True)
        with writer.begin() as connection:
            config.attributes["connection"] = connection
            command.upgrade(config, "head")


def _engine(url: str, busy_s: float) -> Engine:
    try:
        engine = _made(url)
    except (ArgumentError, NoSuchModuleError, ValueError) as error:
        reason = str(error).splitlines()[0]
        raise UsageError(f"database URL: {reason}; use e.g. sqlite:////folder/asfound.db") from None
    except ModuleNotFoundError as error:
        raise MissingPart(
            f"no driver {error.name!r} for this database URL; pip install {error.name}"
        ) from None
    if _is_sqlite(engine):
        event.listen(engine, "connect", _Pragmas(busy_s))
        event.listen(engine, "begin", _begin)
    return engine


def _made(url: str) -> Engine:
    if not url.startswith("sqlite"):
        return create_engine(url)
    in_memory = url.partition("://")[2] in ("", "/", "/:memory:")
    if in_memory:
        return create_engine(url, poolclass=StaticPool, connect_args={"check_same_thread": False})
    return create_engine(url, poolclass=NullPool)


def _is_sqlite(engine: Engine) -> bool:
    return engine.dialect.name == "sqlite"


class _Pragmas:
    """Sets up each new SQLite connection: waits, keeps a WAL, flushes every commit."""

    def __init__(self, busy_s: float) -> None:
        self._busy_ms = round(busy_s * 1000)

    def __call__(self, connection: Any, record: object) -> None:
        # The driver must not begin transactions by itself: `_begin` does, with the right lock.
        connection.isolation_level = None
        cursor = connection.cursor()
        try:
            cursor.execute(f"PRAGMA busy_timeout={self._busy_ms}")
            cursor.execute("PRAGMA journal_mode=WAL")
            cursor.execute("PRAGMA synchronous=FULL")
            cursor.execute("PRAGMA foreign_keys=ON")
        finally:
            cursor.close()


def _begin(connection: Connection) -> None:
    """Writers take the write lock at once, so that what they read first cannot change."""
    write = connection.get_execution_options().get("asfound_write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


def _make_parent(database: Path) -> None:
    if database.parts[:1] == ("file:",):
        # An SQLite URI; it names a file that is there, or fails by itself.
        return
    try:
        database.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise storage_error(error, database.parent) from None
