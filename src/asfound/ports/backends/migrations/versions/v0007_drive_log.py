"""A table for the logs of drives."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "drive_entry",
        sa.Column("log", sa.String(120), primary_key=True),
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("at", sa.String(27), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("data", sa.Text, nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
    )
