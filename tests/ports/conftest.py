"""The stores that the contract of `Store` and its companions is tested on.

A test that takes ``store`` runs on every back-end; one that takes ``database`` runs on those
that can be reached a second time, and altered behind the store's back. Whoever adds a table
or a port to the store adds tests that take these.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.postgres_server import Postgres

from asfound.ports.backends.store_engine import BUSY_S
from asfound.ports.backends.store_sql import SqlStore


@dataclass(frozen=True)
class Database:
    """A place for a store: an SQLite file, or a database of the server."""

    url: str
    file: Path | None = None
    server: Postgres | None = None
    name: str = ""

    def open(self, busy_s: float = BUSY_S) -> SqlStore:
        """A store on it, one more each time."""
        return SqlStore(self.url, busy_s)

    def change(self, statement: str) -> None:
        """Alter what it keeps behind the store's back."""
        if self.server:
            self.server.sql(statement, self.name)
        if self.file:
            with closing(sqlite3.connect(self.file)) as connection, connection:
                connection.execute(statement)


def on_file(folder: Path) -> Database:
    file = folder / "asfound.db"
    return Database(f"sqlite:///{file}", file)


def on_server(server: Postgres) -> Database:
    name = server.database()
    return Database(server.url(name), server=server, name=name)


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Database:
    """An empty database, which nobody has opened yet."""
    if request.param == "sqlite":
        return on_file(tmp_path)
    return on_server(request.getfixturevalue("postgres"))


@pytest.fixture(params=["file", "memory", "postgresql"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[SqlStore]:
    """An empty store on every back-end."""
    if request.param == "memory":
        made = SqlStore("sqlite://")
    elif request.param == "file":
        made = on_file(tmp_path).open()
    else:
        made = on_server(request.getfixturevalue("postgres")).open()
    yield made
    made.close()
