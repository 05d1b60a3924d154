"""Run by Alembic, on the connection and in the transaction snapgloss.store.migrate made."""

from alembic import context

from snapgloss.store.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,  # SQLite cannot alter most of a table in place
    transactional_ddl=True,
)
context.run_migrations()
