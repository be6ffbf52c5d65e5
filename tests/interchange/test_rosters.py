"""Rosters in and out: nothing lost silently, nothing a spreadsheet would execute."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from roster_files import archive

from quizsvc.errors import InputError
from quizsvc.interchange.oneroster import is_archive, read_oneroster
from quizsvc.interchange.rosters import (
    DANGEROUS,
    MOST_ROWS,
    RosterRow,
    read_roster,
    write_roster,
)
from quizsvc.rules.actors import Role


def test_a_plain_roster_is_read_row_by_row_and_every_fault_named():
    found = read_roster(
        b"\xef\xbb\xbfname,sign_in_name,role,class,shoe\n"
        b"Ana  Invented,ana,,Evening; Day,42\n"
        b",nobody,learner,,\n"
        b"Max,max,manager,,\n"
        b"\n"
        b"Ida,ida,Instructor,Evening,\n"
    )

    assert [(row.sign_in_name, row.role, row.class_names) for row in found.rows] == [
        ("ana", Role.LEARNER, ("Evening", "Day")),
        ("ida", Role.INSTRUCTOR, ("Evening",)),
    ]
    assert [(fault.where, fault.field) for fault in found.faults] == [
        ("line 3", "name"),
        ("line 4", "role"),
    ]
    assert all(fault.remedy for fault in found.faults)
    assert found.unused == ("column “shoe”",)


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", "empty"),
        (b"name,role\nA,learner\n", "sign_in_name"),
        (b"name,sign_in_name\n\xff\xfe,x\n", "not UTF-8"),
        (b'name,sign_in_name\n"open,x\n', "no readable CSV"),
        (b"name,sign_in_name\n" + b"a,b\n" * (MOST_ROWS + 1), "too many lines"),
        (b"x" * 4_000_001, "too large"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(content, problem):
    with pytest.raises(InputError, match=problem) as refused:
        read_roster(content)

    assert refused.value.remedy


def test_overlong_names_are_faults_not_cut():
    found = read_roster(f"name,sign_in_name\n{'x' * 201},x\n".encode())

    assert not found.rows
    assert "more than 200" in found.faults[0].problem


CELL = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1)


@given(CELL.filter(str.strip), st.sampled_from(DANGEROUS))
def test_no_exported_cell_begins_like_a_formula_and_all_come_back(name, sign):
    plain = f"{sign}{name}".strip()
    row = RosterRow("", plain, "x", Role.LEARNER)

    text = write_roster([row])

    cells = text.splitlines()[1:]
    assert not any(cell.lstrip('"').startswith(DANGEROUS) for cell in cells[:1])
    if len(plain) <= 200:
        assert read_roster(text.encode()).rows[0].name == plain


def test_a_oneroster_archive_gives_people_with_classes_and_tells_what_it_left_out():
    content = archive()
    assert is_archive(content)

    found = read_oneroster(content)

    assert [(row.name, row.role, row.class_names) for row in found.rows] == [
        ("Ana Invented", Role.LEARNER, ("Evening class",)),
        ("Ida Invented", Role.INSTRUCTOR, ("Evening class",)),
    ]
    told = {(fault.where, fault.field) for fault in found.faults}
    assert told == {
        ("users.csv, line 4", "enabledUser"),
        ("users.csv, line 5", "username"),
        ("users.csv, line 6", "sourcedId"),
        ("enrollments.csv, line 6", "classSourcedId"),
        ("enrollments.csv, line 7", "userSourcedId"),
        ("enrollments.csv, line 8", "status"),
        ("enrollments.csv, line 9", "role"),
    }
    assert found.unused == ("file orgs.csv",)


def test_roles_alone_bring_people_without_a_class():
    roles = "userSourcedId,roleType,role,orgSourcedId\nu5,primary,student,s1\nu5,x,parent,s1\n"

    found = read_oneroster(archive(roles=roles))

    assert "Lone Invented" in {row.name for row in found.rows}
    assert ("roles.csv, line 3", "role") in {(one.where, one.field) for one in found.faults}


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"PK\x03\x04 nothing", "cannot be unpacked"),
        (archive(enrollments=None), "enrollments.csv is missing"),
        (archive(manifest="propertyName,value\noneroster.version,1.1\n"), "another version"),
        (archive(users="a\n" + "b" * 5_000_000), "too large"),
        (archive(**{f"f{n}": "" for n in range(60)}), "too many files"),
    ],
)
def test_an_archive_that_cannot_be_read_says_why(content, problem):
    with pytest.raises(InputError, match=problem):
        read_oneroster(content)
