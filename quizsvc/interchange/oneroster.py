"""Rosters in the OneRoster 1.2 CSV format of 1EdTech: one ZIP with a table for each kind of thing.

Read are manifest.csv, users.csv, classes.csv, enrollments.csv and, for people without an
enrolment, roles.csv. Columns and vocabularies: OneRoster 1.2 CSV Binding (1EdTech), from memory.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable

from quizsvc.errors import InputError
from quizsvc.interchange.broken_archives import BROKEN
from quizsvc.interchange.rosters import (
    LARGEST_FILE,
    LONGEST_NAME,
    Roster,
    RosterFault,
    RosterRow,
    read_table,
    too_long,
)
from quizsvc.rules.actors import Role

MOST_FILES = 40
TABLES = ("users.csv", "classes.csv", "enrollments.csv")
ROLES = {"student": Role.LEARNER, "teacher": Role.INSTRUCTOR}
Lines = list[tuple[int, dict[str, str]]]


def is_archive(content: bytes) -> bool:
    return content[:4] == b"PK\x03\x04"


def read_oneroster(content: bytes) -> Roster:
    """Return the people of a OneRoster 1.2 archive with their classes.

    Raises:
        InputError: it is no such archive, or a table it needs is missing.
    """
    tables = _tables(content)
    _check_version(tables)
    users = {cells.get("sourcedId", ""): (number, cells) for number, cells in tables["users.csv"]}
    rooms = {cells.get("sourcedId", ""): cells for _, cells in tables["classes.csv"]}
    faults: list[RosterFault] = []
    joined: dict[tuple[str, Role], list[str]] = {}
    for number, cells in tables["enrollments.csv"]:
        _enrol(f"enrollments.csv, line {number}", cells, users, rooms, joined, faults)
    for number, cells in tables.get("roles.csv", []):
        _add_role(f"roles.csv, line {number}", cells, users, joined, faults)
    rows = [_person(users[user], role, names, faults) for (user, role), names in joined.items()]
    faults += _without_role(users, {user for user, _ in joined})
    return Roster(tuple(row for row in rows if row is not None), tuple(faults), _unused(content))


def _tables(content: bytes) -> dict[str, Lines]:
    """Return the tables by file name; nothing is unpacked to disk."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = {entry.filename.rpartition("/")[2]: entry for entry in archive.infolist()}
            if len(archive.infolist()) > MOST_FILES:
                raise _refused("it holds too many files.", len(archive.infolist()))
            if missing := [name for name in TABLES if name not in entries]:
                raise _refused(f"{missing[0]} is missing.", ", ".join(sorted(entries))[:80])
            wanted = [name for name in (*TABLES, "roles.csv", "manifest.csv") if name in entries]
            return {name: read_table(_read(archive, entries[name]), name)[1] for name in wanted}
    except InputError:  # a ValueError too, but it says what is wrong already
        raise
    except BROKEN as error:
        raise _refused(f"it cannot be unpacked ({error}).", "") from error


def _read(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """Return a file of the archive, never more than is allowed whatever its header claims."""
    with archive.open(entry) as opened:
        content = opened.read(LARGEST_FILE + 1)
    if len(content) > LARGEST_FILE:
        raise _refused(f"{entry.filename} is too large.", f"over {LARGEST_FILE} bytes")
    return content


def _check_version(tables: dict[str, Lines]) -> None:
    stated = {
        cells.get("propertyName", ""): cells.get("value", "")
        for _, cells in tables.get("manifest.csv", [])
    }
    version = stated.get("oneroster.version", "1.2")
    if version != "1.2":
        raise _refused("it is another version of OneRoster.", version)


def _enrol(
    where: str,
    cells: dict[str, str],
    users: dict[str, tuple[int, dict[str, str]]],
    rooms: dict[str, dict[str, str]],
    joined: dict[tuple[str, Role], list[str]],
    faults: list[RosterFault],
) -> None:
    user, room, role = (cells.get(name, "") for name in ("userSourcedId", "classSourcedId", "role"))
    if cells.get("status") == "tobedeleted":
        faults.append(_fault(where, "status", "tobedeleted", "this enrolment has ended."))
    elif user not in users:
        faults.append(_fault(where, "userSourcedId", user, "users.csv has no such person."))
    elif room not in rooms:
        faults.append(_fault(where, "classSourcedId", room, "classes.csv has no such class."))
    elif role not in ROLES:
        faults.append(_fault(where, "role", role, "this role has no part in a class here."))
    elif not rooms[room].get("title"):
        faults.append(_fault(where, "title", "", f"class {room} has no title."))
    else:
        joined.setdefault((user, ROLES[role]), []).append(" ".join(rooms[room]["title"].split()))


def _add_role(
    where: str,
    cells: dict[str, str],
    users: dict[str, tuple[int, dict[str, str]]],
    joined: dict[tuple[str, Role], list[str]],
    faults: list[RosterFault],
) -> None:
    user, role = cells.get("userSourcedId", ""), cells.get("role", "")
    if user not in users:
        faults.append(_fault(where, "userSourcedId", user, "users.csv has no such person."))
    elif role in ROLES:
        joined.setdefault((user, ROLES[role]), [])
    else:
        faults.append(_fault(where, "role", role, "a roster gives no such role here."))


def _person(
    user: tuple[int, dict[str, str]], role: Role, names: list[str], faults: list[RosterFault]
) -> RosterRow | None:
    number, cells = user
    where = f"users.csv, line {number}"
    given = cells.get("preferredGivenName") or cells.get("givenName", "")
    family = cells.get("preferredFamilyName") or cells.get("familyName", "")
    name = f"{given} {family}".strip()
    if cells.get("status") == "tobedeleted" or cells.get("enabledUser", "").lower() == "false":
        faults.append(
            RosterFault(
                where,
                "enabledUser",
                name,
                "this account is switched off over there.",
                "Deactivate the person here by hand, if that is meant.",
            )
        )
        return None
    for field, value in (("username", cells.get("username", "")), ("givenName", name)):
        if not value:
            faults.append(_fault(where, field, "", f"there is no {field}."))
            return None
    for field, value in (("name", name), *(("class", room) for room in names)):
        if len(value) > LONGEST_NAME:
            faults.append(too_long(where, field, value))
            return None
    return RosterRow(where, name, cells["username"], role, tuple(dict.fromkeys(names)))


def _without_role(
    users: dict[str, tuple[int, dict[str, str]]], seen: Iterable[str]
) -> list[RosterFault]:
    known = set(seen)
    return [
        _fault(
            f"users.csv, line {number}",
            "sourcedId",
            source,
            "this person has neither an enrolment nor a role that counts here.",
        )
        for source, (number, _) in users.items()
        if source not in known
    ]


def _unused(content: bytes) -> tuple[str, ...]:
    used = {*TABLES, "roles.csv", "manifest.csv"}
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        names = [name.rpartition("/")[2] for name in archive.namelist()]
    return tuple(f"file {name}" for name in names if name and name not in used)


def _fault(where: str, field: str, value: str, problem: str) -> RosterFault:
    return RosterFault(
        where, field, value[:60], problem, "Left out; mend it over there, or add it by hand."
    )


def _refused(problem: str, value: object) -> InputError:
    return InputError(
        f"this is no OneRoster archive we can read: {problem}",
        field="roster",
        value=value,
        remedy="Export OneRoster 1.2 CSV as one ZIP, or use a plain CSV.",
    )
