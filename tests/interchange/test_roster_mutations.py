"""Rosters and their archives with anything changed in them: read, told about, or refused."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from mutations import counted, mutated, mutated_text
from roster_files import CLASSES, ENROLLMENTS, MANIFEST, USERS, archive

from quizsvc.errors import InputError
from quizsvc.interchange.oneroster import is_archive, read_oneroster
from quizsvc.interchange.rosters import LONGEST_NAME, Roster, read_roster
from quizsvc.rules.actors import Role

ROUGH = settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
PLAIN = """name,sign_in_name,role,class,mentor
Ana Invented,ana.invented,learner,Evening class,Ida
Ida Invented,ida.invented,instructor,Evening class; Morning class,
=Max,max.invented,"manager",,
Oda,,learner,,
"""
TABLES = {"users": USERS, "classes": CLASSES, "enrollments": ENROLLMENTS, "manifest": MANIFEST}


def read_or_refused(content: bytes) -> str:
    """Read a roster as the page does; return in a word what came of it."""
    try:
        found = read_oneroster(content) if is_archive(content) else read_roster(content)
    except InputError as refusal:
        said = refusal.problem, refusal.remedy
    else:
        return judged(found)
    assert all(said), said
    return "refused"


def judged(found: Roster) -> str:
    for row in found.rows:
        assert 0 < len(row.name) <= LONGEST_NAME
        assert row.sign_in_name
        assert isinstance(row.role, Role)
    for fault in found.faults:
        assert fault.where
        assert fault.problem
        assert fault.remedy
    return "told about" if found.faults else "read"


def test_a_plain_roster_with_bytes_changed_is_read_told_or_refused(say):
    with counted(say, "plain rosters with bytes changed") as came:

        @ROUGH
        @given(mutated(PLAIN.encode()))
        def each(content: bytes) -> None:
            came[read_or_refused(content)] += 1

        each()


def test_an_archive_with_bytes_changed_is_read_told_or_refused(say):
    with counted(say, "roster archives with bytes changed") as came:

        @ROUGH
        @given(mutated(archive()))
        def each(content: bytes) -> None:
            came[read_or_refused(content)] += 1

        each()


def test_an_archive_with_its_tables_changed_is_read_told_or_refused(say):
    with counted(say, "roster archives with tables changed") as came:

        @ROUGH
        @given(
            st.sampled_from(sorted(TABLES)).flatmap(
                lambda name: st.tuples(st.just(name), mutated_text(TABLES[name]))
            )
        )
        def each(changed: tuple[str, str]) -> None:
            name, text = changed
            came[read_or_refused(archive(**{name: text}))] += 1

        each()
