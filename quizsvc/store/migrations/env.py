"""Where Alembic gets its connection and the models to compare with."""

from __future__ import annotations

from alembic import context

from quizsvc.store.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    # SQLite cannot alter a constraint; Alembic copies the table instead.
    render_as_batch=context.config.attributes["connection"].dialect.name == "sqlite",
)
context.run_migrations()
