"""Note what is worth an entry in the audit log, in the transaction of the deed itself."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import START, Action, Break, Entry, canonical, first_break
from quizsvc.services.house import House
from quizsvc.store import audit


def note(
    connection: Connection,
    actor: Actor | None,
    action: Action,
    subject: str,
    *,
    now: datetime,
    shop_id: int | None = None,
    **detail: object,
) -> None:
    """Append an entry; without an actor the program itself acted. No personal data in it."""
    audit.append(
        connection,
        actor_id=actor.person_id if actor else None,
        shop_id=actor.shop_id if actor else shop_id,
        action=action.value,
        subject=subject,
        detail=canonical(detail),
        now=now,
    )


def broken_at(house: House, noted: str | None = None) -> Break | None:
    """Return where the audit chain breaks first, or None if it holds.

    ``noted`` is an `anchor` written down earlier and kept outside: whoever can rewrite the whole
    database can forge a chain that holds in itself, but not one that runs through the anchor.

    Raises:
        InputError: ``noted`` is no anchor.
    """
    with house.read() as connection:
        broken = first_break(audit.entries(connection), audit.head(connection))
        if broken or noted is None:
            return broken
        number, hashed = _read_anchor(noted)
        return _off_anchor(audit.entries(connection), number, hashed)


def anchor(house: House) -> str:
    """Return the log's present end as "number:hash", to be noted where nobody here can write."""
    with house.read() as connection:
        number, hashed = audit.head(connection)
    return f"{number}:{hashed}"


def _read_anchor(noted: str) -> tuple[int, str]:
    number, _, hashed = noted.partition(":")
    if not number.isascii() or not number.isdigit() or len(hashed) != len(START):
        raise InputError(
            "this is no end of the log.",
            field="anchor",
            value=noted,
            remedy="Give it as `quizsvc audit verify` printed it.",
        )
    return int(number), hashed


def _off_anchor(chain: Iterable[tuple[Entry, str]], number: int, hashed: str) -> Break | None:
    if number == 0:
        return None
    for entry, stored in chain:
        if entry.number == number:
            return None if stored == hashed else Break(number, "it is not the entry noted earlier")
    return Break(number, "the log ends before the entry noted earlier")
