"""A table for entries of logs that were continued in two places, of the branch that does not
count."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "entry_aside",
        sa.Column("book", sa.String(20), primary_key=True),
        sa.Column("log", sa.String(120), primary_key=True),
        sa.Column("hash", sa.String(64), primary_key=True),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("at", sa.String(27), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("data", sa.Text, nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
    )
