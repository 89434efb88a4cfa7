"""A table for the photographs of where recorders sit."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "place_picture",
        sa.Column("vehicle", sa.Text, primary_key=True),
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("picture", sa.String(64), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("at", sa.String(27), nullable=False),
    )
