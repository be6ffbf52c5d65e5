"""Empty databases of both kinds."""

from __future__ import annotations

from collections.abc import Iterator

import postgres_server
import pytest

from quizsvc.store import migrate
from quizsvc.store.engines import Database, open_database


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def empty(request, tmp_path) -> Iterator[Database]:
    """Give a database without tables."""
    if request.param == "sqlite":
        address = f"sqlite:///{tmp_path / 'quizsvc.sqlite3'}"
    else:
        address = postgres_server.new_database()
    database = open_database(address)
    yield database
    database.close()
    if request.param == "postgresql":
        postgres_server.drop_database(address)


@pytest.fixture
def database(empty) -> Database:
    """Give a database with all tables, empty."""
    migrate.upgrade(empty)
    return empty
