"""A table with a line for each visit, so that lists fold no journal; filled from the entries."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asfound.ports.backends.store_lines import fill_lines

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the table and its indices, and a line for every visit there is."""
    op.create_table(
        "visit_line",
        sa.Column("visit", sa.String(120), primary_key=True),
        sa.Column("vehicle", sa.Text, nullable=False),
        sa.Column("procedure", sa.Text, nullable=False),
        sa.Column("opened_by", sa.Text, nullable=False),
        sa.Column("opened_at", sa.String(27), nullable=False),
        sa.Column("closed", sa.Integer, nullable=False),
        sa.Column("plan", sa.Text, nullable=False),
        sa.Column("ticked", sa.Text, nullable=False),
        sa.Column("entries", sa.Integer, nullable=False),
        sa.Column("head", sa.String(64), nullable=False),
        sa.Column("last_at", sa.String(27), nullable=False),
    )
    op.create_index("ix_visit_line_opened", "visit_line", ["opened_at", "visit"])
    op.create_index("ix_visit_line_closed", "visit_line", ["closed", "opened_at", "visit"])
    op.create_index("ix_visit_line_vehicle", "visit_line", ["vehicle", "opened_at", "visit"])
    fill_lines(op.get_bind())
