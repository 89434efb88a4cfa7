"""Run by the migration tool: apply the versions on the connection that the store hands over."""

from __future__ import annotations

from alembic import context


def migrate() -> None:
    """Apply the wanted versions inside the transaction that the store has begun."""
    context.configure(connection=context.config.attributes["connection"], transactional_ddl=True)
    context.run_migrations()


# The migration tool executes this file for its effect; nobody imports it.
migrate()
