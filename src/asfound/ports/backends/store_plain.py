"""What a PostgreSQL database must be like to keep what SQLite keeps, and made so.

SQLite compares and sorts text by its bytes and sets no length; PostgreSQL sorts by the language
that the database was made with, and cuts at a column's length.
"""

from __future__ import annotations

from sqlalchemy import Connection, quoted_name, text

from asfound.errors import StorageError
from asfound.ports.backends.store_tables import METADATA

_TEXTS = text(
    "SELECT table_name, column_name FROM information_schema.columns "
    "WHERE table_schema = current_schema() AND data_type IN ('text', 'character varying') "
    "AND (data_type <> 'text' OR collation_name IS DISTINCT FROM 'C') "
    "ORDER BY table_name, ordinal_position"
)


def check_server(connection: Connection, place: str) -> None:
    """Refuse a database that cannot keep every text, and a server that can lose what it said it
    kept. Raises StorageError."""
    coded, fsync = connection.exec_driver_sql(
        "SELECT current_setting('server_encoding'), current_setting('fsync')"
    ).one()
    if coded != "UTF8":
        raise StorageError(
            f"{place}: keeps text as {coded}, which lacks signs; make a database with "
            "ENCODING 'UTF8' and name that one"
        )
    if fsync == "off":
        raise StorageError(
            f"{place}: the server does not flush what it writes (fsync is off) and may lose it; "
            "set fsync = on there"
        )


def make_texts_plain(connection: Connection) -> None:
    """Let every text column of the store's tables sort by code point and be of any length,
    within the transaction that made them; the indices follow."""
    for table, column in connection.execute(_TEXTS).all():
        if table in METADATA.tables:
            names = connection.dialect.identifier_preparer
            connection.exec_driver_sql(
                f"ALTER TABLE {names.quote(quoted_name(table, True))} "
                f"ALTER COLUMN {names.quote(quoted_name(column, True))} "
                'TYPE text COLLATE "C"'
            )
