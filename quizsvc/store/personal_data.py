"""All that is stored about one person: found for an export, taken away when they are erased."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Column, Connection, LargeBinary, Table, delete, func, or_, select, update

from quizsvc.store.tables import METADATA

# Tables with rows about a person, by the column that says whom. All other columns that point at
# people say who did something, which is exported as a count.
ABOUT = {
    "appeal": "person_id",
    "assignment_person": "person_id",
    "calendar_feed": "person_id",
    "candidate_form": "person_id",
    "certificate": "person_id",
    "class_member": "person_id",
    "decision": "person_id",
    "general_competence": "person_id",
    "half_signed_in": "person_id",
    "held_idea": "person_id",
    "invitation": "person_id",
    "membership": "person_id",
    "offer": "person_id",
    "outgoing_message": "person_id",
    "panel_estimate": "person_id",
    "panel_judge": "person_id",
    "person": "id",
    "printed_copy": "person_id",
    "read_revision": "person_id",
    "recovery_code": "person_id",
    "remarked_response": "person_id",
    "response": "person_id",
    "second_factor": "person_id",
    "shift_place": "person_id",
    "signed_in": "person_id",
    "sitting": "person_id",
    "sitting_mark": "person_id",
    "task_sign_off": "person_id",
    "topic_competence": "person_id",
    "upheld_decision": "person_id",
}
# Rows that hang on rows about a person.
HANGING = {
    "certificate_note": ("certificate_id", "certificate"),
    "sign_off_picture": ("sign_off_id", "task_sign_off"),
    "sitting_item": ("sitting_id", "sitting"),
    "sitting_save": ("sitting_id", "sitting"),
}
# Never exported: secrets, and what would give questions or their keys away.
SECRET = frozenset(
    {
        *(
            "password_hash",
            "token_hash",
            "seed",
            "item_hash",
            "shown_hash",
            "place_hash",
            "key_hash",
        ),
        *("token", "built", "status_place"),
        *("sealed", "salt", "last_step", "begun_at", "code_hash"),
    }
)
# Nothing of these is told: of a second factor only that it is on, and since when.
UNTOLD = frozenset({"half_signed_in", "recovery_code"})
REMOVED = (
    *("calendar_feed", "general_competence", "half_signed_in", "held_idea", "membership"),
    *("recovery_code", "second_factor"),
    *("shift_place", "signed_in", "topic_competence"),
)
EMPTIED: dict[str, dict[str, object]] = {
    "appeal": {"words": "", "answer": ""},
    "certificate": {"holder_name": "Erased person", "credential": "", "token_form": ""},
    "decision": {"reason": ""},
    "outgoing_message": {"subject": "", "body": "", "last_error": None},
    "printed_copy": {"straightened": None},
    "task_sign_off": {"notes": ""},
    "upheld_decision": {"why": ""},
}
# Rows that stay and say no more than a number: whose it was, nobody can tell.
NUMBER_ONLY = frozenset(
    {
        *("assignment_person", "candidate_form", "class_member", "offer", "panel_estimate"),
        *("panel_judge", "read_revision", "remarked_response", "response", "sitting"),
        "sitting_mark",
    }
)


@dataclass(frozen=True, slots=True)
class PersonState:
    name: str
    erased_at: datetime | None


def person_state(connection: Connection, person_id: int) -> PersonState | None:
    person = METADATA.tables["person"]
    row = connection.execute(
        select(person.c.name, person.c.erased_at).where(person.c.id == person_id)
    ).first()
    return PersonState(*row) if row else None


def rows_about(
    connection: Connection, person_id: int
) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """Yield every table with rows about a person, and these rows without secrets."""
    for name, column in ABOUT.items():
        if name in UNTOLD:
            continue
        table = METADATA.tables[name]
        yield name, _rows(connection, table, table.c[column] == person_id)
    for name, (column, parent) in HANGING.items():
        table = METADATA.tables[name]
        yield name, _rows(connection, table, table.c[column].in_(_keys_about(parent, person_id)))


def pictures_about(connection: Connection, person_id: int) -> Iterator[tuple[str, bytes]]:
    """Yield pictures and scans about a person under a name for a file."""
    picture = METADATA.tables["sign_off_picture"]
    mine = picture.c.sign_off_id.in_(_keys_about("task_sign_off", person_id))
    wanted = select(picture.c.id, picture.c.media_type, picture.c.content).where(mine)
    for key, media_type, content in connection.execute(wanted):
        yield f"sign-off-{key}.{media_type.rpartition('/')[2]}", content
    scan = METADATA.tables["printed_copy"]
    scans = select(scan.c.test_id, scan.c.copy, scan.c.straightened).where(
        scan.c.person_id == person_id, scan.c.straightened.is_not(None)
    )
    for test, copy, content in connection.execute(scans):
        yield f"answer-sheet-{test}-{copy}.png", content


def deeds_of(connection: Connection, person_id: int) -> dict[str, int]:
    """Return in how many rows, by table and column, a person stands as who did something."""
    found = {}
    for table in METADATA.sorted_tables:
        for column in person_columns(table):
            if ABOUT.get(table.name) == column.name:
                continue
            count = connection.execute(
                select(func.count()).select_from(table).where(column == person_id)
            ).scalar_one()
            if count:
                found[f"{table.name}.{column.name}"] = count
    return found


def person_columns(table: Table) -> list[Column[Any]]:
    """Return the columns of a table that point at people."""
    return [
        column
        for column in table.columns
        if any(key.column.table.name == "person" for key in column.foreign_keys)
    ]


def audit_about(connection: Connection, person_id: int) -> list[dict[str, Any]]:
    """Return the entries of the audit log that a person made or that are about them."""
    entry = METADATA.tables["audit_entry"]
    mine = or_(entry.c.actor_id == person_id, entry.c.subject == f"person {person_id}")
    return _rows(connection, entry, mine)


def erase(connection: Connection, person_id: int, *, now: datetime) -> None:
    """Take away all that tells who a person is; rows that others rest on stay as a number."""
    tables = METADATA.tables
    pictures = tables["sign_off_picture"]
    mine = pictures.c.sign_off_id.in_(_keys_about("task_sign_off", person_id))
    connection.execute(delete(pictures).where(mine))
    for name in REMOVED:
        table = tables[name]
        connection.execute(delete(table).where(table.c[ABOUT[name]] == person_id))
    for name, empty in EMPTIED.items():
        table = tables[name]
        connection.execute(update(table).where(table.c[ABOUT[name]] == person_id).values(**empty))
    _erase_invitations(connection, person_id)
    _empty_work(connection, person_id)
    person = tables["person"]
    connection.execute(
        update(person)
        .where(person.c.id == person_id)
        .values(
            name=f"Erased person {person_id}",
            sign_in_name=None,
            password_hash=None,
            active=False,
            erased_at=now,
        )
    )


def _erase_invitations(connection: Connection, person_id: int) -> None:
    invitation = METADATA.tables["invitation"]
    mine = or_(invitation.c.person_id == person_id, invitation.c.used_by == person_id)
    connection.execute(delete(invitation).where(mine))


def _empty_work(connection: Connection, person_id: int) -> None:
    job = METADATA.tables["job"]
    done = (job.c.person_id == person_id) & job.c.ended_at.is_not(None)
    connection.execute(update(job).where(done).values(payload="", result=""))


def _keys_about(table_name: str, person_id: int) -> Any:
    table = METADATA.tables[table_name]
    return select(table.c.id).where(table.c[ABOUT[table_name]] == person_id)


def _rows(connection: Connection, table: Table, which: Any) -> list[dict[str, Any]]:
    told = [
        column
        for column in table.columns
        if column.name not in SECRET and not isinstance(column.type, LargeBinary)
    ]
    wanted = select(*told).where(which).order_by(*table.primary_key.columns)
    return [dict(row._mapping) for row in connection.execute(wanted)]  # noqa: SLF001 - SQLAlchemy's public name
