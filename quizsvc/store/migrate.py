"""Bring a database's tables up to date, or back, from code."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from quizsvc.store.engines import Database

_PLACE = Path(__file__).resolve().parent / "migrations"


def upgrade(database: Database, to: str = "head") -> None:
    """Apply every missing migration in one transaction; a killed one leaves nothing behind."""
    with database.write() as connection:
        command.upgrade(_config(connection), to)


def downgrade(database: Database, to: str = "base") -> None:
    with database.write() as connection:
        command.downgrade(_config(connection), to)


def is_current(database: Database) -> bool:
    """Return whether no migration is missing."""
    with database.read() as connection:
        at = MigrationContext.configure(connection).get_current_revision()
    return at == ScriptDirectory.from_config(_config(None)).get_current_head()


def _config(connection: Connection | None) -> Config:
    config = Config()
    config.set_main_option("script_location", str(_PLACE).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config
