"""Down to the first tables and up again with a whole shop in them: what stays there stays."""

from __future__ import annotations

from collections.abc import Iterator

import postgres_server
import pytest
from sqlalchemy import inspect, text
from whole_shop import furnish, reopened

from quizsvc.services import auditing
from quizsvc.services.house import House
from quizsvc.store import migrate

FIRST = "0001"
STEPS = ("0007", "0006", "0005", "0004", "0003", "0002", FIRST)
# Rows of the first tables that no later table is needed for.
KEPT = ("shop", "person", "membership", "offer", "response", "audit_entry", "topic_competence")


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def house(request, tmp_path) -> Iterator[House]:
    served = request.param == "postgresql"
    address = postgres_server.new_database() if served else ""
    furnish(tmp_path, address)
    opened = reopened(tmp_path, address)
    yield opened
    opened.close()
    if served:
        postgres_server.drop_database(address)


def rows(house: House) -> dict[str, int]:
    with house.read() as connection:
        return {
            name: connection.scalar(text(f"SELECT count(*) FROM {name}"))  # noqa: S608 - own names
            for name in KEPT
        }


def test_down_step_by_step_and_up_again_keeps_what_the_first_tables_hold(house):
    before = rows(house)
    assert all(before.values())

    for step in STEPS:
        migrate.downgrade(house.database, step)
        assert not migrate.is_current(house.database)
    with house.read() as connection:
        assert "certificate" not in inspect(connection).get_table_names()
    migrate.upgrade(house.database)

    assert migrate.is_current(house.database)
    assert rows(house) == before
    assert auditing.broken_at(house) is None
