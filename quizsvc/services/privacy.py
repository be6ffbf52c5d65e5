"""Export all that is kept about a person, erase a person, and keep the retention rules."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, owns, require
from quizsvc.rules.retention import RULES, Kind, RetentionRule, cutoff
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.keep_people import person_of_shop
from quizsvc.services.readiness import refusals_noted
from quizsvc.store import people_pages, personal_data, retention

README = """This archive holds all that is kept about one person.

person.json   every row about them, table by table, times in UTC
pictures/     pictures and scans about them

Left out: passwords and keys (only their hashes are stored), and what would give the questions
of tests and their answers away to others. "did" counts where they stand as who did something to
what belongs to others. Nothing in here is needed to verify a certificate they hold.
"""


@dataclass(frozen=True, slots=True)
class Export:
    """An archive with a name to save it under."""

    file_name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class RetentionLine:
    rule: RetentionRule
    found: int


def export_person(house: House, actor: Actor, person_id: int, *, now: datetime) -> Export:
    """Return all that is kept about a person: one's own, or as administrator of their shop.

    Raises:
        NotFoundError: somebody of another shop; that is noted in the audit log.
        ConflictError: an administrator, for somebody who works in another shop too.
    """
    with refusals_noted(house, actor, f"person {person_id}", now=now):
        if not owns(actor, person_id):
            require(actor, May.EXPORT_PERSON)
            with house.read() as connection:
                _require_theirs(connection, actor, person_id)
        with house.write() as connection:
            note(connection, actor, Action.PERSON_EXPORTED, f"person {person_id}", now=now)
    with house.read() as connection:
        content = _archive(connection, person_id, now)
    return Export(f"person-{person_id}-{now:%Y-%m-%d}.zip", content)


def erase_person(
    house: House, actor: Actor, person_id: int, name_typed: str, *, now: datetime
) -> None:
    """Take away who a person is, for good; certificates and the audit log still verify.

    Raises:
        ConflictError: it is the actor, or somebody who works in another shop too.
        InputError: the name that was typed to be sure is not theirs.
    """
    with refusals_noted(house, actor, f"person {person_id}", now=now):
        require(actor, May.ERASE_PERSON)
        if owns(actor, person_id):
            raise ConflictError(
                "you cannot erase yourself.", remedy="Ask another administrator to."
            )
        with house.write() as connection:
            name = _require_theirs(connection, actor, person_id)
            if " ".join(name_typed.split()) != name:
                raise InputError(
                    "that is not the name of the person.",
                    field="name",
                    value=name_typed[:40],
                    remedy="Type the name as it stands on the page. Erasing cannot be undone.",
                )
            personal_data.erase(connection, person_id, now=now)
            note(connection, actor, Action.PERSON_ERASED, f"person {person_id}", now=now)


def retention_finds(house: House, *, now: datetime) -> tuple[RetentionLine, ...]:
    """Return how much each retention rule finds; changes nothing. For the program itself."""
    with house.read() as connection:
        return tuple(RetentionLine(rule, _count(connection, rule, now)) for rule in RULES)


def keep_retention(house: House, *, now: datetime) -> tuple[RetentionLine, ...]:
    """Do what the retention rules say and return how much each did. For the program itself."""
    with house.write() as connection:
        done = tuple(RetentionLine(rule, _keep(connection, rule, now)) for rule in RULES)
        counts = {line.rule.kind.value: line.found for line in done}
        note(connection, None, Action.RETENTION_KEPT, "retention", now=now, **counts)
    return done


def _count(connection: Connection, rule: RetentionRule, now: datetime) -> int:
    before = cutoff(rule, now)
    if rule.kind is Kind.PEOPLE:
        return len(retention.gone_since(connection, before=before, now=now))
    return retention.count(connection, rule.kind, before=before)


def _keep(connection: Connection, rule: RetentionRule, now: datetime) -> int:
    before = cutoff(rule, now)
    if rule.kind is not Kind.PEOPLE:
        return retention.keep(connection, rule.kind, before=before)
    gone = retention.gone_since(connection, before=before, now=now)
    for person_id in gone:
        personal_data.erase(connection, person_id, now=now)
        note(connection, None, Action.PERSON_ERASED, f"person {person_id}", now=now)
    return len(gone)


def _require_theirs(connection: Connection, actor: Actor, person_id: int) -> str:
    """Return the name of a person of the actor's shop and of no other."""
    found = person_of_shop(connection, actor, person_id)
    if people_pages.shops_of(connection, person_id) != {actor.shop_id}:
        raise ConflictError(
            "this person works in another shop too.",
            field="person",
            value=person_id,
            remedy="They can export their own data; let them leave the other shop first.",
        )
    return found.name


def _archive(connection: Connection, person_id: int, now: datetime) -> bytes:
    data = {
        "exported": now,
        "person": person_id,
        "tables": dict(personal_data.rows_about(connection, person_id)),
        "audit log": personal_data.audit_about(connection, person_id),
        "did": personal_data.deeds_of(connection, person_id),
    }
    text = json.dumps(data, ensure_ascii=False, indent=1, default=_as_text)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("README.txt", README)
        archive.writestr("person.json", text)
        for name, content in personal_data.pictures_about(connection, person_id):
            archive.writestr(f"pictures/{name}", content)
    return out.getvalue()


def _as_text(value: object) -> str:
    return value.isoformat() if isinstance(value, datetime) else str(value)
