"""Bring a database's tables up to date, or back, from code."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine

_PLACE = Path(__file__).resolve().parent / "migrations"


def upgrade(engine: Engine, to: str = "head") -> None:
    """Apply every missing migration in one transaction; a killed one leaves nothing behind."""
    with engine.begin() as connection:
        command.upgrade(_config(connection), to)


def downgrade(engine: Engine, to: str = "base") -> None:
    with engine.begin() as connection:
        command.downgrade(_config(connection), to)


def is_current(engine: Engine) -> bool:
    """Return whether no migration is missing."""
    with engine.connect() as connection:
        at = MigrationContext.configure(connection).get_current_revision()
    return at == ScriptDirectory.from_config(_config(None)).get_current_head()


def _config(connection: object) -> Config:
    config = Config()
    config.set_main_option("script_location", str(_PLACE).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config
