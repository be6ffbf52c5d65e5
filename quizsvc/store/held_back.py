"""What practice holds back while timed tests go on."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, bindparam, select

from quizsvc.rules.assignments import Form, Issue
from quizsvc.store.assignment_questions import AssignmentQuestion
from quizsvc.store.assignments import Assignment
from quizsvc.store.sittings import RUNNING_STATES, Sitting

# Built once: every answer in practice asks these.
HELD_BACK = (
    select(AssignmentQuestion.item_ref)
    .join(Assignment, Assignment.id == AssignmentQuestion.assignment_id)
    .where(
        Assignment.shop_id == bindparam("in_shop"),
        Assignment.form == Form.TIMED_TEST.value,
        Assignment.issue == Issue.ISSUED.value,
        Assignment.released_at.is_(None),
        Assignment.id.in_(
            select(Sitting.assignment_id).where(
                Sitting.shop_id == bindparam("in_shop"), Sitting.state.in_(RUNNING_STATES)
            )
        )
        | (Assignment.due_at > bindparam("at")),
        AssignmentQuestion.bank_item_version_id.is_not(None) | Assignment.own_numbers.is_(False),
    )
    .distinct()
)
TIMED_TEST_OF = (
    select(Sitting.id)
    .where(
        Sitting.person_id == bindparam("person"),
        Sitting.state.in_(RUNNING_STATES),
        Sitting.allowed_ms.is_not(None),
    )
    .limit(1)
)


def items_held_back(connection: Connection, shop_id: int, *, now: datetime) -> frozenset[str]:
    """Return refs of what is asked alike of everybody in timed tests that are still going on.

    Bank items, and families where all get the same numbers; as `in_progress` of the rules says.
    """
    rows = connection.scalars(HELD_BACK, {"in_shop": shop_id, "at": now})
    return frozenset(rows)


def sits_a_timed_test(connection: Connection, person_id: int) -> bool:
    """Return whether the person has a timed test before them."""
    return connection.scalar(TIMED_TEST_OF, {"person": person_id}) is not None
