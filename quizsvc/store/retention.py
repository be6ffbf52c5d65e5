"""What the retention rules find, counted and taken away."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Table, delete, func, select, update

from quizsvc.rules.retention import Kind
from quizsvc.store.tables import METADATA


def count(connection: Connection, kind: Kind, *, before: datetime) -> int:
    """Return how many rows a rule finds; for people see `gone_since`."""
    table, which = _found(kind, before)
    return connection.execute(select(func.count()).select_from(table).where(which)).scalar_one()


def keep(connection: Connection, kind: Kind, *, before: datetime) -> int:
    """Do what a rule says and return how many rows it touched."""
    table, which = _found(kind, before)
    values = _EMPTIED.get(kind)
    deed = delete(table) if values is None else update(table).values(**values)
    return connection.execute(deed.where(which)).rowcount


def gone_since(connection: Connection, *, before: datetime, now: datetime) -> tuple[int, ...]:
    """Return people in no shop, with no valid certificate, and not heard of since."""
    tables = METADATA.tables
    person, member = tables["person"], tables["membership"]
    held, answer = tables["certificate"], tables["response"]
    valid = held.c.revoked_at.is_(None) & (
        held.c.valid_until.is_(None) | (held.c.valid_until > now)
    )
    rows = connection.execute(
        select(person.c.id).where(
            person.c.erased_at.is_(None),
            person.c.made_at < before,
            ~select(member.c.person_id).where(member.c.person_id == person.c.id).exists(),
            ~select(held.c.id).where(held.c.person_id == person.c.id, valid).exists(),
            ~select(answer.c.id)
            .where(answer.c.person_id == person.c.id, answer.c.answered_at >= before)
            .exists(),
            ~select(tables["signed_in"].c.person_id)
            .where(
                tables["signed_in"].c.person_id == person.c.id,
                tables["signed_in"].c.ends_at >= before,
            )
            .exists(),
        )
    )
    return tuple(row[0] for row in rows)


_EMPTIED: dict[Kind, dict[str, object]] = {
    Kind.MESSAGES: {"body": ""},
    Kind.WORK: {"payload": "", "result": ""},
    Kind.SCANS: {"straightened": None},
}


def _found(kind: Kind, before: datetime) -> tuple[Table, Any]:
    """Return the table a rule is about, and which of its rows are over."""
    name, over = _OVER[kind]
    table = METADATA.tables[name]
    return table, over(table.c, before)


def _pictures_over(columns: Any, before: datetime) -> Any:
    signed = METADATA.tables["task_sign_off"]
    return columns.sign_off_id.in_(select(signed.c.id).where(signed.c.assessed_at < before))


_OVER: dict[Kind, tuple[str, Callable[[Any, datetime], Any]]] = {
    Kind.SESSIONS: ("signed_in", lambda c, t: (c.ends_at < t) | (c.ended_at < t)),
    Kind.FAILURES: ("sign_in_failures", lambda c, t: c.since < t),
    Kind.INVITATIONS: ("invitation", lambda c, t: (c.ends_at < t) | (c.used_at < t)),
    Kind.MESSAGES: (
        "outgoing_message",
        lambda c, t: ((c.sent_at < t) | (c.given_up_at < t)) & (c.body != ""),
    ),
    Kind.WORK: ("job", lambda c, t: (c.ended_at < t) & (c.payload != "")),
    Kind.SCANS: (
        "printed_copy",
        lambda c, t: (c.counted_at < t) & c.straightened.is_not(None),
    ),
    Kind.PICTURES: ("sign_off_picture", _pictures_over),
}
