"""An index of the entries that tell what a fault came from: they are read from all closed visits,
and a full table of entries is large."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the index."""
    only = sa.text("kind = 'fault-found'")
    op.create_index(
        "ix_entry_fault_found", "entry", ["visit", "seq"], sqlite_where=only, postgresql_where=only
    )
