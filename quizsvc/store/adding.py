"""Add a row where another may have been quicker."""

from __future__ import annotations

from sqlalchemy import Connection
from sqlalchemy.dialects import postgresql, sqlite

from quizsvc.store.columns import Base


def add_if_new(connection: Connection, table: type[Base], **columns: object) -> bool:
    """Insert a row unless one with its key is there; return whether it was inserted."""
    dialect = sqlite if connection.dialect.name == "sqlite" else postgresql
    key = next(iter(table.__table__.primary_key))
    new = dialect.insert(table).values(**columns).on_conflict_do_nothing().returning(key)
    return connection.execute(new).first() is not None
