"""Migrations: up, down and up again, and the same tables as the models state."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import inspect, text

from quizsvc.store import migrate, people
from quizsvc.store.tables import METADATA, WITHOUT_MODEL

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def tables(database) -> set[str]:
    with database.read() as connection:
        found = set(inspect(connection).get_table_names())
    return {name for name in found if not name.startswith(WITHOUT_MODEL)}


def _has_a_model(name, kind, _parents) -> bool:
    return kind != "table" or not name.startswith(WITHOUT_MODEL)


def test_up_down_and_up_again_leaves_the_models_tables(empty):
    migrate.upgrade(empty)
    migrate.downgrade(empty)
    assert tables(empty) <= {"alembic_version"}

    migrate.upgrade(empty)

    assert tables(empty) == {*METADATA.tables, "alembic_version"}
    assert migrate.is_current(empty)


def test_the_migrated_schema_is_the_one_the_models_state(database):
    with database.read() as connection:
        options = {"compare_type": True, "include_name": _has_a_model}
        context = MigrationContext.configure(connection, opts=options)
        differences = compare_metadata(context, METADATA)

    assert differences == []


def test_named_constraints_are_the_same_in_models_and_database(database):
    """Alembic compares neither checks nor primary keys."""
    with database.read() as connection:
        found = inspect(connection)
        for name, table in METADATA.tables.items():
            stated = {
                str(c.name) for c in table.constraints if type(c).__name__ == "CheckConstraint"
            }
            stored = {check["name"] for check in found.get_check_constraints(name)}
            assert stored == stated, name
            key = found.get_pk_constraint(name)
            assert key["constrained_columns"] == [c.name for c in table.primary_key.columns], name


def test_upgrading_a_database_that_is_current_changes_nothing(database):
    with database.write() as connection:
        people.add_shop(connection, "Invented", invented=True, now=NOON)

    migrate.upgrade(database)

    with database.read() as connection:
        assert people.find_shop(connection, "Invented")


def test_an_upgrade_that_fails_in_the_middle_leaves_nothing_behind(empty, monkeypatch):
    real = command.upgrade

    def fail_at_the_end(config, to):
        real(config, to)
        raise RuntimeError("killed")

    monkeypatch.setattr(command, "upgrade", fail_at_the_end)
    with pytest.raises(RuntimeError, match="killed"):
        migrate.upgrade(empty)
    monkeypatch.undo()

    assert tables(empty) == set()
    migrate.upgrade(empty)
    assert migrate.is_current(empty)


def test_a_database_without_tables_is_not_current(empty):
    assert not migrate.is_current(empty)


@pytest.mark.parametrize("table", ["audit_entry", "response", "certificate_note"])
def test_the_append_only_tables_carry_their_guards(database, table):
    names = (
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
        if database.turns is None
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    with database.read() as connection:
        found = set(connection.scalars(text(names)))

    assert any(name.startswith(f"{table}_no_") for name in found)
