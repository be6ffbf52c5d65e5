"""Rosters as files: a plain CSV of our own, and CSV out again that no spreadsheet will execute."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from quizsvc.errors import InputError
from quizsvc.rules.actors import Role

LARGEST_FILE = 4_000_000  # bytes
MOST_ROWS, LONGEST_NAME = 5000, 200
COLUMNS = ("name", "sign_in_name", "role", "class")
_REQUIRED = ("name", "sign_in_name")
# A spreadsheet takes a cell that begins so for a formula, quoted or not (OWASP, CSV injection).
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")
ROSTER_ROLES = {Role.LEARNER.value: Role.LEARNER, Role.INSTRUCTOR.value: Role.INSTRUCTOR}


@dataclass(frozen=True, slots=True)
class RosterRow:
    """A person as a roster states them; ``where`` names file and line."""

    where: str
    name: str
    sign_in_name: str
    role: Role
    class_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RosterFault:
    """Something in a roster that cannot be taken over as it stands."""

    where: str
    field: str
    value: str
    problem: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Roster:
    """What a file holds: people, what is wrong, and what was read but has no use here."""

    rows: tuple[RosterRow, ...]
    faults: tuple[RosterFault, ...] = ()
    unused: tuple[str, ...] = field(default=())


def read_roster(content: bytes) -> Roster:
    """Return the people of a CSV with the columns name, sign_in_name, role and class.

    ``role`` may be missing (learner); ``class`` may hold several names parted by ";".

    Raises:
        InputError: the file as a whole cannot be read.
    """
    header, lines = read_table(content, "roster")
    missing = [name for name in _REQUIRED if name not in header]
    if missing:
        raise InputError(
            f"the column “{missing[0]}” is missing.",
            field="roster",
            value=", ".join(header)[:80],
            remedy=f"Begin the file with the line {','.join(COLUMNS)}.",
        )
    rows: list[RosterRow] = []
    faults: list[RosterFault] = []
    for number, cells in lines:
        found = _row(f"line {number}", cells)
        (rows if isinstance(found, RosterRow) else faults).append(found)  # type: ignore[arg-type]
    unused = tuple(f"column “{name}”" for name in header if name not in COLUMNS)
    return Roster(tuple(rows), tuple(faults), unused)


def write_roster(rows: Iterable[RosterRow]) -> str:
    """Return people as CSV; cells that a spreadsheet would execute are defused."""
    return write_table(
        COLUMNS,
        [(row.name, row.sign_in_name, row.role.value, "; ".join(row.class_names)) for row in rows],
    )


def write_table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")  # RFC 4180
    writer.writerow(header)
    writer.writerows([[defused(cell) for cell in row] for row in rows])
    return out.getvalue()


def defused(cell: str) -> str:
    """Return a cell that stays text in a spreadsheet.

    >>> defused("=1+1"), defused("Ana")
    ("'=1+1", 'Ana')
    """
    return f"'{cell}" if cell.startswith(DANGEROUS) else cell


def read_table(content: bytes, what: str) -> tuple[list[str], list[tuple[int, dict[str, str]]]]:
    """Return the header and the numbered lines of a CSV with header.

    Raises:
        InputError: not UTF-8, too large, without a header, or with a line that does not fit.
    """
    text = _text(content, what)
    try:
        table = list(csv.reader(io.StringIO(text), strict=True))
    except csv.Error as error:
        raise InputError(
            f"the file is no readable CSV ({error}).",
            field=what,
            value="",
            remedy="Save it as CSV with commas, in UTF-8.",
        ) from error
    if len(table) > MOST_ROWS + 1 or not table:
        raise InputError(
            "the file is empty." if not table else "the file has too many lines.",
            field=what,
            value=len(table),
            remedy=f"From 1 to {MOST_ROWS} lines below the header.",
        )
    header = [cell.strip() for cell in table[0]]
    lines = [
        (number, {name: _cell(cells, at) for at, name in enumerate(header)})
        for number, cells in enumerate(table[1:], 2)
        if any(cell.strip() for cell in cells)
    ]
    return header, lines


def too_long(where: str, name: str, value: str) -> RosterFault:
    problem = f"this {name} has more than {LONGEST_NAME} characters."
    return RosterFault(where, name, f"{value[:40]}…", problem, "Shorten it.")


def _text(content: bytes, what: str) -> str:
    if len(content) > LARGEST_FILE:
        raise InputError(
            "the file is too large.",
            field=what,
            value=f"{len(content)} bytes",
            remedy=f"At most {LARGEST_FILE // 1_000_000} MB.",
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            f"the file is not UTF-8 (byte {error.start}).",
            field=what,
            value="",
            remedy="Save it as CSV in UTF-8.",
        ) from error


def _cell(cells: list[str], at: int) -> str:
    cell = cells[at].strip() if at < len(cells) else ""
    # What our own export has defused is read back as it was.
    return cell[1:] if cell[:1] == "'" and cell[1:].startswith(DANGEROUS) else cell


def _row(where: str, cells: dict[str, str]) -> RosterRow | RosterFault:
    for name in _REQUIRED:
        if not cells.get(name):
            return RosterFault(where, name, "", f"there is no {name}.", "Fill it in.")
    role = cells.get("role", "").casefold() or Role.LEARNER.value
    if role not in ROSTER_ROLES:
        return RosterFault(
            where,
            "role",
            role,
            "a roster gives no such role.",
            "Write learner or instructor; other roles are given on the page of the person.",
        )
    rooms = tuple(" ".join(one.split()) for one in cells.get("class", "").split(";"))
    rooms = tuple(one for one in rooms if one)
    for name, value in (("name", cells["name"]), *(("class", room) for room in rooms)):
        if len(value) > LONGEST_NAME:
            return too_long(where, name, value)
    return RosterRow(where, cells["name"], cells["sign_in_name"], ROSTER_ROLES[role], rooms)
