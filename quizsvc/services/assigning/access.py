"""Which assignments somebody may run, build or watch; any other looks like none at all."""

from __future__ import annotations

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Issue, Run, may_run, may_watch
from quizsvc.rules.permissions import May, require
from quizsvc.store import assignments, classes
from quizsvc.store.assignments import StoredAssignment


def runs(
    connection: Connection, actor: Actor, assignment_id: int, *, lock: bool = False
) -> StoredAssignment:
    """Return an assignment the actor may run; any other looks like none at all."""
    require(actor, May.ASSIGN)
    held = assignments.find_assignment(connection, assignment_id, lock=lock)
    leads = classes.led_by(connection, actor.person_id)
    if held is None or not may_run(actor, run_of(held), leads=leads):
        raise _no_such(assignment_id)
    return held


def watches(connection: Connection, actor: Actor, assignment_id: int) -> StoredAssignment:
    """Return an assignment the actor may watch; any other looks like none at all."""
    require(actor, May.WATCH)
    held = assignments.find_assignment(connection, assignment_id)
    leads = classes.led_by(connection, actor.person_id)
    if held is None or not may_watch(actor, run_of(held), leads=leads):
        raise _no_such(assignment_id)
    return held


def run_of(held: StoredAssignment) -> Run:
    return Run(held.shop_id, held.maker_id, held.class_id)


def _no_such(assignment_id: int) -> NotFoundError:
    return NotFoundError(
        "there is no such assignment for you.",
        field="assignment",
        value=assignment_id,
        remedy="Go to the list of assignments.",
    )


def draft_of(connection: Connection, actor: Actor, assignment_id: int) -> StoredAssignment:
    held = runs(connection, actor, assignment_id, lock=True)
    if held.issue is not Issue.DRAFT:
        raise ConflictError(
            "it is given out already; its questions stay.",
            field="assignment",
            value=held.title,
            remedy="Make a new one, or declare a question void.",
        )
    return held
