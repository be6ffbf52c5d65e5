"""What was answered and audited is never changed, not even by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from quizsvc.rules.audit import first_break
from quizsvc.store import audit

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def append(database, count: int = 3) -> None:
    for n in range(count):
        with database.write() as connection:
            audit.append(
                connection,
                actor_id=None,
                shop_id=None,
                action="shop made",
                subject=f"shop {n}",
                detail="{}",
                now=NOON + timedelta(seconds=n, microseconds=n),
            )


def broken(database):
    with database.read() as connection:
        return first_break(audit.entries(connection), audit.head(connection))


def tamper(database, *statements: str) -> None:
    """Change rows as somebody with the file in hand could: guards taken off first."""
    with database.write() as connection:
        if database.turns is None:
            connection.execute(text("ALTER TABLE audit_entry DISABLE TRIGGER ALL"))
        else:
            connection.execute(text("DROP TRIGGER audit_entry_no_update"))
            connection.execute(text("DROP TRIGGER audit_entry_no_delete"))
        for statement in statements:
            connection.execute(text(statement))


@pytest.mark.parametrize(
    "change", ["UPDATE audit_entry SET subject = 'shop 9'", "DELETE FROM audit_entry"]
)
def test_the_database_refuses_to_change_an_audit_entry(database, change):
    append(database)

    with pytest.raises(DBAPIError, match="never changed"), database.write() as connection:
        connection.execute(text(change))


def test_a_log_that_was_only_appended_to_holds(database):
    assert broken(database) is None

    append(database, 5)

    assert broken(database) is None


@pytest.mark.parametrize(
    ("changes", "number", "problem"),
    [
        (["UPDATE audit_entry SET subject = 'shop 9' WHERE number = 2"], 2, "content was changed"),
        (["UPDATE audit_entry SET at = '2026-03-03 00:00:00+00' WHERE number = 1"], 1, "changed"),
        (["DELETE FROM audit_entry WHERE number = 2"], 2, "entry 2 is missing"),
        (["DELETE FROM audit_entry WHERE number = 3"], 3, "the log ends at 2, its head says 3"),
        (["DELETE FROM audit_entry"], 1, "the log ends at 0"),
        (
            [
                "UPDATE audit_entry SET number = 99 WHERE number = 2",
                "UPDATE audit_entry SET number = 2 WHERE number = 3",
                "UPDATE audit_entry SET number = 3 WHERE number = 99",
            ],
            2,
            "does not follow",
        ),
    ],
)
def test_an_edit_a_removal_a_new_order_and_a_cut_off_tail_all_show(
    database, changes, number, problem
):
    append(database)
    if database.turns is not None:
        changes = [change.replace("+00'", ".000000'") for change in changes]
    tamper(database, *changes)

    found = broken(database)

    assert found.number == number
    assert problem in found.problem


def test_entries_of_two_transactions_at_once_form_one_chain(database):
    append(database, 1)
    append(database, 1)

    with database.read() as connection:
        numbers = [entry.number for entry, _ in audit.entries(connection)]

    assert numbers == [1, 2]
    assert broken(database) is None
