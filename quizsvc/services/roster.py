"""Take a roster over: first a report of what each row will do, then exactly that."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import ConflictError
from quizsvc.interchange.oneroster import is_archive, read_oneroster
from quizsvc.interchange.rosters import (
    Roster,
    RosterFault,
    RosterRow,
    read_roster,
    write_roster,
)
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services.accounts import known_form
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.invite import Wanted, add_invitation
from quizsvc.services.keep_people import plain_name
from quizsvc.store import classes, people, people_pages
from quizsvc.store.classes import Part
from quizsvc.store.people_pages import PersonRow


class Fate(StrEnum):
    """What becomes of a row."""

    NEW = "new person"
    CHANGED = "changes"
    SAME = "is so already"


@dataclass(frozen=True, slots=True)
class PlannedRow:
    """A row and what will happen, in words."""

    row: RosterRow
    fate: Fate
    words: str
    person_id: int | None


@dataclass(frozen=True, slots=True)
class RosterReport:
    """What taking a roster over would do. ``terms`` stands for exactly this plan."""

    rows: tuple[PlannedRow, ...]
    faults: tuple[RosterFault, ...]
    unused: tuple[str, ...]
    new_classes: tuple[str, ...]
    terms: str
    text: str  # the rows again as plain CSV, to be sent back with the terms

    def count(self, fate: Fate) -> int:
        return sum(row.fate == fate for row in self.rows)


@dataclass(frozen=True, slots=True)
class Welcome:
    """A new person and the token of the link by which they choose a password."""

    name: str
    sign_in_name: str
    token: str


def report(house: House, actor: Actor, content: bytes) -> RosterReport:
    """Return what a roster would do; writes nothing.

    Raises:
        InputError: the file as a whole cannot be read.
    """
    require(actor, May.KEEP_PEOPLE)
    roster = read_oneroster(content) if is_archive(content) else read_roster(content)
    with house.read() as connection:
        return _plan(connection, actor, roster)


def take_over(
    house: House, actor: Actor, text: str, terms: str, *, now: datetime
) -> tuple[Welcome, ...]:
    """Do what the report said; return the new people with their links.

    Raises:
        ConflictError: it would do something else by now.
    """
    require(actor, May.KEEP_PEOPLE)
    roster = read_roster(text.encode())
    with house.write() as connection:
        plan = _plan(connection, actor, roster)
        if plan.terms != terms:
            raise ConflictError(
                "people or classes were changed since the report.",
                field="roster",
                value=f"{len(plan.rows)} rows",
                remedy="Read the roster in again and look at the new report.",
            )
        rooms = _rooms(connection, actor, plan.new_classes, now)
        welcomes = [
            welcome
            for planned in plan.rows
            if (welcome := _take(connection, actor, planned, rooms, now)) is not None
        ]
        note(
            connection,
            actor,
            Action.ROSTER_READ,
            f"shop {actor.shop_id}",
            now=now,
            new=plan.count(Fate.NEW),
            changed=plan.count(Fate.CHANGED),
            classes=len(plan.new_classes),
        )
    return tuple(welcomes)


def export(house: House, actor: Actor) -> str:
    """Return the learners and instructors of the shop as CSV, safe to open in a spreadsheet."""
    require(actor, May.KEEP_PEOPLE)
    with house.read() as connection:
        rooms = classes.classes_of_shop(connection, actor.shop_id)
        member_of: dict[tuple[int, str], list[str]] = {}
        for room in rooms:
            for member in classes.members_of(connection, room.id):
                member_of.setdefault((member.person_id, member.part.value), []).append(room.name)
        rows = [
            RosterRow(
                "", one.name, one.sign_in_name or "", role, tuple(member_of.get((one.id, role), ()))
            )
            for one in people_pages.people_of(connection, actor.shop_id)
            for role in (Role.LEARNER, Role.INSTRUCTOR)
            if role in one.roles and one.active
        ]
    return write_roster(rows)


def _plan(connection: Connection, actor: Actor, roster: Roster) -> RosterReport:
    here = {
        one.sign_in_name: one
        for one in people_pages.people_of(connection, actor.shop_id)
        if one.sign_in_name
    }
    parts = _parts(connection, actor)
    faults, rows, seen = list(roster.faults), [], set[tuple[str, Role]]()
    for row in roster.rows:
        key = (known_form(row.sign_in_name), row.role)
        fault = _fault(connection, row, key, here, seen)
        if fault is not None:
            faults.append(fault)
            continue
        seen.add(key)
        rows.append(_planned(row, here.get(key[0]), parts))
    known = {name for name, _ in parts}
    wanted = dict.fromkeys(name for one in rows for name in one.row.class_names)
    new_classes = tuple(name for name in wanted if name not in known)
    text = write_roster(one.row for one in rows)
    facts = [[one.fate.value, one.words, one.person_id] for one in rows]
    terms = sha256(json.dumps([facts, new_classes, text]).encode()).hexdigest()
    return RosterReport(tuple(rows), tuple(faults), roster.unused, new_classes, terms, text)


def _parts(connection: Connection, actor: Actor) -> dict[tuple[str, str], frozenset[int]]:
    """Return who has which part in which class of the shop, by class name."""
    found = {}
    for room in classes.classes_of_shop(connection, actor.shop_id):
        members = classes.members_of(connection, room.id)
        for part in Part:
            found[room.name, part.value] = frozenset(
                member.person_id for member in members if member.part is part
            )
    return found


def _fault(
    connection: Connection,
    row: RosterRow,
    key: tuple[str, Role],
    here: dict[str, PersonRow],
    seen: set[tuple[str, Role]],
) -> RosterFault | None:
    if key in seen:
        return RosterFault(
            row.where, "sign_in_name", key[0], "it stands in the roster twice.", "Take one out."
        )
    if key[0] not in here and any(name == key[0] for name, _ in seen):
        return RosterFault(
            row.where,
            "role",
            key[1].value,
            "this new person stands in the roster with another role already.",
            "Take the row out; give the second role on the person's page.",
        )
    if key[0] in here and not here[key[0]].active:
        return RosterFault(
            row.where,
            "sign_in_name",
            key[0],
            "this person was deactivated.",
            "Reactivate them first, on their page.",
        )
    if key[0] not in here and people.find_for_sign_in(connection, key[0]) is not None:
        return RosterFault(
            row.where,
            "sign_in_name",
            key[0],
            "somebody elsewhere has this sign-in name.",
            "If it is the same person, invite them by a link; else choose another name.",
        )
    return None


def _planned(
    row: RosterRow, known: PersonRow | None, parts: dict[tuple[str, str], frozenset[int]]
) -> PlannedRow:
    if known is None:
        rooms = f", joins {', '.join(row.class_names)}" if row.class_names else ""
        words = f"becomes {row.role.value}{rooms}; gets a link to choose a password"
        return PlannedRow(row, Fate.NEW, words, None)
    joins = [
        name
        for name in row.class_names
        if known.id not in parts.get((name, row.role.value), frozenset())
    ]
    said = [f"becomes {row.role.value}"] if row.role not in known.roles else []
    said += [f"joins {', '.join(joins)}"] if joins else []
    kept = f"; stays “{known.name}”, the roster says “{row.name}”" if known.name != row.name else ""
    if not said:
        return PlannedRow(row, Fate.SAME, f"nothing to do{kept}", known.id)
    return PlannedRow(row, Fate.CHANGED, " and ".join(said) + kept, known.id)


def _rooms(
    connection: Connection, actor: Actor, new: tuple[str, ...], now: datetime
) -> dict[str, int]:
    for name in new:
        classes.add_class(connection, actor.shop_id, plain_name(name), now=now)
    return {one.name: one.id for one in classes.classes_of_shop(connection, actor.shop_id)}


def _take(
    connection: Connection,
    actor: Actor,
    planned: PlannedRow,
    rooms: dict[str, int],
    now: datetime,
) -> Welcome | None:
    """Do one row; return the welcome of a new person."""
    row, person_id = planned.row, planned.person_id
    if planned.fate is Fate.SAME:
        return None
    known = person_id is not None
    if person_id is None:
        person_id = people.add_person(
            connection,
            plain_name(row.name),
            sign_in_name=known_form(row.sign_in_name),
            password_hash=None,
            now=now,
        )
        note(connection, actor, Action.PERSON_ADDED, f"person {person_id}", now=now, by="roster")
    if row.role not in people_pages.roles_in(connection, person_id, actor.shop_id):
        people.add_roles(connection, person_id, actor.shop_id, [row.role], now=now)
        note(
            connection,
            actor,
            Action.ROLE_GIVEN,
            f"person {person_id}",
            now=now,
            role=row.role.value,
        )
    for name in row.class_names:
        part = Part(row.role.value)
        classes.set_part(connection, rooms[name], person_id, part, now=now)
    if known:
        return None
    wanted = Wanted(row.name, row.role, person_id=person_id)
    return Welcome(row.name, row.sign_in_name, add_invitation(connection, actor, wanted, now=now))
