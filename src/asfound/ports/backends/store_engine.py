"""The engine behind the store: how a database is opened, for SQLite and for PostgreSQL.

Everything that is peculiar to one of them when a connection or a transaction begins is here;
the statements are the same for both.
"""

from __future__ import annotations

import logging
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError
from sqlalchemy.pool import NullPool, StaticPool

from asfound.errors import MissingPart, UsageError

BUSY_S = 5.0
"""How long a call waits for another program's write before it gives up."""

CONNECT_S = 10
"""How long a call waits for a server that does not answer."""

WRITE = "asfound_write"
"""The execution option of a transaction that writes."""

LOCK = 0x6173666F756E64
"""The number of PostgreSQL's advisory lock that writers take; "asfound" in ASCII."""

EXAMPLES = "use e.g. sqlite:////folder/asfound.db or postgresql+psycopg://user@host/asfound"


def open_engine(url: str, busy_s: float) -> Engine:
    """The engine for a database URL; connects to nothing yet. Raises UsageError, MissingPart."""
    try:
        wanted = make_url(url)
        made = _postgresql(wanted, busy_s) if _server(wanted) else _sqlite(wanted, busy_s)
    except ValueError:
        # The reason is not shown: it quotes what stands there, which may be part of a password.
        raise UsageError(f"database URL: the port is not a number; {EXAMPLES}") from None
    except (ArgumentError, NoSuchModuleError) as error:
        raise UsageError(f"database URL: {str(error).splitlines()[0]}; {EXAMPLES}") from None
    except ImportError as error:
        raise MissingPart(
            f"no driver {error.name or 'psycopg'!r} for this database URL; "
            'pip install "asfound[postgres]"'
        ) from None
    event.listen(made, "before_cursor_execute", _refuse_nul)
    return made


def place_of(engine: Engine) -> str:
    """What messages call the database: its file, or its URL without password and options."""
    url = engine.url
    if is_sqlite(engine):
        return url.database or str(url)
    where = {name: url.query[name] for name in ("host", "port") if name in url.query}
    return url.set(query=where).render_as_string()  # it shows a password as ***


def is_sqlite(engine: Engine) -> bool:
    """Whether the database is SQLite's; else it is PostgreSQL's."""
    return engine.dialect.name == "sqlite"


def _server(url: URL) -> bool:
    backend = url.get_backend_name()
    if backend not in ("sqlite", "postgresql"):
        raise UsageError(f"database URL: {backend} is not supported; {EXAMPLES}")
    return backend == "postgresql"


def _sqlite(url: URL, busy_s: float) -> Engine:
    if url.database in (None, "", ":memory:"):
        made = create_engine(url, poolclass=StaticPool, connect_args={"check_same_thread": False})
    else:
        made = create_engine(url, poolclass=NullPool)
    event.listen(made, "connect", _Pragmas(busy_s))
    event.listen(made, "begin", _begin_sqlite)
    return made


def _postgresql(url: URL, busy_s: float) -> Engine:
    if url.drivername not in ("postgresql", "postgresql+psycopg"):
        raise UsageError(f"database URL: {url.drivername} is not supported; {EXAMPLES}")
    if "@" in (url.host or ""):
        raise UsageError(f"database URL: an @ in a password is written %40; {EXAMPLES}")
    made = create_engine(
        url.set(drivername="postgresql+psycopg"),
        # A writer reads after it has the lock, and must see what the one before has written.
        isolation_level="READ COMMITTED",
        # A server that was restarted costs a look, not an error.
        pool_pre_ping=True,
        connect_args={
            # Poolers between here and the server know nothing of prepared statements, and
            # one prepared before a migration would be refused after it.
            "prepare_threshold": None,
            "connect_timeout": url.query.get("connect_timeout", CONNECT_S),
        },
    )
    # It would write the traceback of a goodbye to a dead server to stderr.
    pool_log = logging.getLogger("sqlalchemy.pool")
    if not pool_log.handlers:
        pool_log.addHandler(logging.NullHandler())
    event.listen(made, "connect", _Settings(busy_s))
    event.listen(made, "begin", _begin_postgresql)
    return made


class _Pragmas:
    """Sets up each new SQLite connection: waits, keeps a WAL, flushes every commit."""

    def __init__(self, busy_s: float) -> None:
        self._busy_ms = round(busy_s * 1000)

    def __call__(self, connection: Any, record: object) -> None:
        # The driver must not begin transactions by itself: `_begin_sqlite` does, with the
        # right lock.
        connection.isolation_level = None
        cursor = connection.cursor()
        try:
            cursor.execute(f"PRAGMA busy_timeout={self._busy_ms}")
            cursor.execute("PRAGMA journal_mode=WAL")
            cursor.execute("PRAGMA synchronous=FULL")
            cursor.execute("PRAGMA foreign_keys=ON")
        finally:
            cursor.close()


class _Settings:
    """Sets up each new PostgreSQL connection: waits, flushes every commit, speaks UTF-8."""

    def __init__(self, busy_s: float) -> None:
        self._busy_ms = max(1, round(busy_s * 1000))  # 0 would wait for ever

    def __call__(self, connection: Any, record: object) -> None:
        before = connection.autocommit
        connection.autocommit = True  # else they would end with the first transaction
        try:
            connection.execute(f"SET lock_timeout = {self._busy_ms}")
            connection.execute("SET client_encoding = 'UTF8'")
            # Whoever waits for standby servers as well keeps doing so.
            connection.execute(
                "SELECT set_config('synchronous_commit', 'on', false) "
                "WHERE current_setting('synchronous_commit') = 'off'"
            )
        finally:
            connection.autocommit = before


def _begin_sqlite(connection: Connection) -> None:
    """Writers take the write lock at once, so that what they read first cannot change."""
    connection.exec_driver_sql("BEGIN IMMEDIATE" if _writes(connection) else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    """Writers go one after the other, as on SQLite, until they commit."""
    if _writes(connection):
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCK})")


def _writes(connection: Connection) -> bool:
    return bool(connection.get_execution_options().get(WRITE, False))


def _refuse_nul(
    _connection: Connection, _cursor: Any, _statement: str, parameters: Any, *_rest: object
) -> None:
    """PostgreSQL cannot keep U+0000 in a text; what one database refuses none takes."""
    rows = parameters if isinstance(parameters, list) else [parameters]
    for row in rows:
        for value in row.values() if isinstance(row, dict) else row or ():
            if isinstance(value, str) and "\0" in value:
                raise UsageError(
                    "what was typed has a NUL sign in it, and cannot be looked up or kept; "
                    "type it anew"
                )
