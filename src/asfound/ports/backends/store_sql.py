"""The store on SQL: SQLite by default (WAL, synchronous FULL), PostgreSQL by URL.

Only the hooks of `store_engine` know which; statements are plain SQLAlchemy. A file database
opens a connection for each call and closes it again: nothing leaks, forks are safe, and a
database at rest is one file. Connections to a server are kept and looked at before each use.
"""

from __future__ import annotations

import weakref
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, insert, select, update

from asfound.errors import IntegrityError, StorageError
from asfound.model.bundle import Book, Bundle, Merged
from asfound.model.hold import Hold
from asfound.model.journal import GENESIS, Entry, entry_hash
from asfound.model.key_tick import KeyTick
from asfound.model.place_picture import PlacePicture
from asfound.model.visit_line import EVERY, LineQuery, VisitLine
from asfound.ports.backends.disk import storage_error
from asfound.ports.backends.store_aside import set_aside
from asfound.ports.backends.store_drives import append_drive, drive_entries
from asfound.ports.backends.store_engine import BUSY_S, WRITE, is_sqlite, open_engine, place_of
from asfound.ports.backends.store_faults import faults_named
from asfound.ports.backends.store_lines import (
    closed_entries,
    heads,
    keep_line,
    line_heads,
    line_stamp,
    lines,
)
from asfound.ports.backends.store_merge import merge_bundle
from asfound.ports.backends.store_places import place_pictures, save_place_picture
from asfound.ports.backends.store_plain import check_server, make_texts_plain
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


class SqlStore:
    """Journals and holds in a SQL database; migrations run at opening.

    ``url`` is an SQLAlchemy URL, e.g. ``sqlite:////home/x/asfound.db`` or
    ``postgresql+psycopg://user@host/asfound``. Raises StorageError, IntegrityError (damaged),
    UsageError (the URL is off), MissingPart (no driver for it).
    """

    def __init__(self, url: str, busy_s: float = BUSY_S) -> None:
        self._engine = open_engine(url, busy_s)
        self.place = place_of(self._engine)
        # A server is told goodbye also by whoever forgets to close the store.
        self._goodbye = weakref.finalize(self, self._engine.dispose)
        database = self._engine.url.database
        if is_sqlite(self._engine) and database and database != ":memory:":
            _make_parent(Path(database))
        with faults_named(self.place):
            self._migrate()

    def close(self) -> None:
        """Let go of the database; the store must not be used afterwards."""
        self._goodbye()

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

    def line_heads(self) -> Mapping[str, str]:
        """The last hash of every visit that has a line. Raises StorageError."""
        with self._read() as connection:
            return line_heads(connection)

    def line_stamp(self) -> str:
        """Another text whenever a visit's line changed, came or went. Raises StorageError."""
        with self._read() as connection:
            return line_stamp(connection)

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

    def merge(self, bundle: Bundle) -> Merged:
        """Take a bundle in, all of it or nothing. Raises StorageError, IntegrityError."""
        with self._write() as connection:
            return merge_bundle(connection, bundle)

    def set_aside(self, book: Book | None = None, log: str | None = None) -> Sequence[Entry]:
        """Entries of branches that do not count. Raises StorageError, IntegrityError."""
        with self._read() as connection:
            return set_aside(connection, book, log)

    def append_drive(self, entry: Entry) -> None:
        """Add an entry to a log of a drive. Raises StorageError, IntegrityError."""
        with self._write() as connection:
            append_drive(connection, entry)

    def drive_entries(self, log: str | None = None) -> Sequence[Entry]:
        """The entries of one such log, or of all, log by log."""
        with self._read() as connection:
            return drive_entries(connection, log)

    @contextmanager
    def _read(self) -> Iterator[Connection]:
        with faults_named(self.place), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def _write(self) -> Iterator[Connection]:
        writer = self._engine.execution_options(**{WRITE: True})
        with faults_named(self.place), writer.begin() as connection:
            yield connection

    def _migrate(self) -> None:
        """Bring the tables to the newest migration; refuse a database from a newer asfound."""
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
        script = ScriptDirectory.from_config(config)
        server = not is_sqlite(self._engine)
        with self._engine.connect() as connection:
            if server:
                check_server(connection, self.place)
            if self._is_newest(connection, script):
                return
        writer = self._engine.execution_options(**{WRITE: True})
        with writer.begin() as connection:
            # Another program may have done it while this one waited for the lock.
            if self._is_newest(connection, script):
                return
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            if server:
                make_texts_plain(connection)

    def _is_newest(self, connection: Connection, script: ScriptDirectory) -> bool:
        """Whether nothing is to be done. Raises StorageError when a newer asfound made it."""
        present = MigrationContext.configure(connection).get_current_revision()
        known = {revision.revision for revision in script.walk_revisions()}
        if present is not None and present not in known:
            raise StorageError(
                f"{self.place}: was made by a newer asfound (tables {present}); "
                "bring asfound up to date, or choose another folder (--home)"
            )
        return present == script.get_current_head()


def _make_parent(database: Path) -> None:
    if database.parts[:1] == ("file:",):
        # An SQLite URI; it names a file that is there, or fails by itself.
        return
    try:
        database.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise storage_error(error, database.parent) from None
