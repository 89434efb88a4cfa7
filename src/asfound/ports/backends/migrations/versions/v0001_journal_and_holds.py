"""The first tables: journal entries and holds."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "entry",
        sa.Column("visit", sa.String(120), primary_key=True),
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("at", sa.String(27), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("data", sa.Text, nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
    )
    op.create_table(
        "hold",
        sa.Column("id", sa.String(120), primary_key=True),
        sa.Column("vehicle", sa.Text, nullable=False),
        sa.Column("start", sa.String(27), nullable=False),
        sa.Column("end", sa.String(27), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("placed_by", sa.Text, nullable=False),
        sa.Column("placed_at", sa.String(27), nullable=False),
        sa.Column("released_by", sa.Text),
        sa.Column("release_reason", sa.Text),
        sa.Column("released_at", sa.String(27)),
    )
    op.create_index("ix_hold_vehicle", "hold", ["vehicle"])
