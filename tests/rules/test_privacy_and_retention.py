"""What is said of privacy follows from the policy and from what is stored."""

from __future__ import annotations

from datetime import UTC, datetime

from quizsvc.rules.actors import Role
from quizsvc.rules.permissions import POLICY, May
from quizsvc.rules.privacy import KEPT, deeds_of, who_sees
from quizsvc.rules.retention import RULES, Kind, cutoff, rule_for
from quizsvc.store import personal_data
from quizsvc.store.tables import METADATA


def test_whoever_the_policy_lets_in_stands_on_the_page():
    widened = POLICY | {May.SEE_READINESS: POLICY[May.SEE_READINESS] | {Role.LEARNER}}

    now = {one.kept.what: one.roles for one in who_sees()}
    then = {one.kept.what: one.roles for one in who_sees(widened)}

    assert now["Readiness for jobs"] == (Role.INSTRUCTOR, Role.MANAGER)
    assert then["Readiness for jobs"] == (Role.LEARNER, Role.INSTRUCTOR, Role.MANAGER)


def test_every_deed_of_the_policy_is_on_the_page():
    assert {words for words, _ in deeds_of()} == {may.value for may in May}


def test_every_retention_rule_is_told_beside_what_it_is_about():
    assert {kind for kept in KEPT for kind in kept.retention} == set(Kind)
    assert {rule.kind for rule in RULES} == set(Kind)


def test_a_rule_counts_back_from_now():
    now = datetime(2026, 3, 31, tzinfo=UTC)

    assert cutoff(rule_for(Kind.SESSIONS), now) == datetime(2026, 3, 1, tzinfo=UTC)


def test_every_table_that_names_people_is_thought_of():
    """A new table with a column for a person fails here until somebody decides about it."""
    named = {
        table.name
        for table in METADATA.sorted_tables
        if any(column.name == "person_id" for column in personal_data.person_columns(table))
    }
    only_deeds = {"certificate_note", "item_note", "job", "remark"}  # who did it, to what

    assert named - only_deeds == set(personal_data.ABOUT) - {"person"}


def test_erasing_decides_about_every_table_with_rows_about_a_person():
    special = {"person", "invitation"}
    decided = {*personal_data.REMOVED, *personal_data.EMPTIED, *personal_data.NUMBER_ONLY}

    assert decided | special == set(personal_data.ABOUT)
