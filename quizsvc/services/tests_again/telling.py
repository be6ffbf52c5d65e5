"""Who is told that a test was marked again: the people themselves, and those who decided."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.rules.certifying import DecisionState
from quizsvc.rules.tests_again import Remedy
from quizsvc.services.sitting import finishing
from quizsvc.services.tests_again.planning import Line
from quizsvc.store import assignments, decisions, outbox, sittings
from quizsvc.store.decisions import StoredDecision
from quizsvc.store.sat_questions import SatQuestion


def tell_people(
    connection: Connection,
    lines: Iterable[Line],
    changed: set[int],
    remark_id: int,
    *,
    now: datetime,
) -> None:
    """Write to everybody whose result is another, where they know the first one already."""
    letters: dict[int, dict[str, object]] = {}
    known: dict[int, bool] = {}
    for line in lines:
        asked = line.asked
        if asked.assignment_id not in known:
            known[asked.assignment_id] = _is_known(connection, line, now)
        if asked.sitting_id in changed and known[asked.assignment_id]:
            letters[asked.sitting_id] = _letter(asked, remark_id, now)
    outbox.put_all_in(connection, list(letters.values()))


def _letter(asked: SatQuestion, remark_id: int, now: datetime) -> dict[str, object]:
    return {
        "about": f"test marked again {remark_id}, sitting {asked.sitting_id}",
        "person_id": asked.person_id,
        "subject": "A test of yours was marked again",
        "body": (
            f"The key of a question in “{asked.test}” was wrong, so your result was "
            "looked at again. Sign in to see both results and why."
        ),
        "due_at": now,
    }


def tell_deciders(
    connection: Connection,
    lines: Iterable[Line],
    remedy: Remedy,
    remark_id: int,
    *,
    now: datetime,
) -> None:
    """Write to whoever decided on a result that now lies on the other side of its cut."""
    for line in lines:
        turned = line.by_marking if remedy is Remedy.MARKED_AGAIN else line.by_voiding
        decision = _standing(connection, line) if turned else None
        for person_id in _deciders(decision) if decision else ():
            outbox.put_in(
                connection,
                about=f"result changed {remark_id}, form {line.asked.form_id}, to {person_id}",
                person_id=person_id,
                subject="A result you decided on has changed",
                body=(
                    "A test was marked again, and its result now lies on the other side of the "
                    "cut. Nothing was revoked or issued by itself: it waits for a decision. "
                    "Sign in and look under “Candidates”."
                ),
                due_at=now,
            )


def _is_known(connection: Connection, line: Line, now: datetime) -> bool:
    """Return whether results of a test may be seen by whose they are: told, or decided on."""
    if _standing(connection, line) is not None:
        return True
    sitting = sittings.find_sitting(connection, line.asked.token)
    assignment = assignments.find_assignment(connection, line.asked.assignment_id)
    if sitting is None or assignment is None:  # pragma: no cover - foreign keys hold both
        return False
    return finishing.told(connection, assignment, sitting, now=now)


def _standing(connection: Connection, line: Line) -> StoredDecision | None:
    if line.asked.form_id is None:
        return None
    every = decisions.decisions_of(connection, form_id=line.asked.form_id)
    return next((one for one in every if one.state is DecisionState.DECIDED), None)


def _deciders(decision: StoredDecision) -> list[int]:
    both = (decision.decider_id, decision.confirmer_id)
    return sorted(one for one in both if one is not None)
