"""A table for the ticks on re-key sheets."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "key_tick",
        sa.Column("visit", sa.String(120), primary_key=True),
        sa.Column("mark", sa.String(24), primary_key=True),
        sa.Column("done", sa.Integer, nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("at", sa.String(27), nullable=False),
    )
