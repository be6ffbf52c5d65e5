"""What a person sits: their own sittings, what is given to them, a question of it."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Standing
from quizsvc.rules.permissions import owns
from quizsvc.rules.sittings import RUNNING
from quizsvc.store import assignment_people, assignments, sitting_items, sittings
from quizsvc.store.assignments import StoredAssignment
from quizsvc.store.sitting_items import StoredSittingItem
from quizsvc.store.sittings import StoredSitting

TOKEN_BYTES = 16  # 128 bits, as 32 hex digits


@dataclass(frozen=True, slots=True)
class Held:
    """A sitting of the actor's own with its assignment."""

    sitting: StoredSitting
    assignment: StoredAssignment


def own(connection: Connection, actor: Actor, token: str, *, lock: bool = False) -> Held:
    """Return a sitting of the actor's own; another person's looks like none at all."""
    usable = len(token) == 2 * TOKEN_BYTES and token.isascii() and token.isalnum()
    sitting = sittings.find_sitting(connection, token, lock=lock) if usable else None
    if sitting is None or not owns(actor, sitting.person_id):
        raise NotFoundError(
            "there is no such sitting for you.",
            field="sitting",
            value=token[:40],
            remedy="Go to the list of what is due.",
        )
    assignment = assignments.find_assignment(connection, sitting.assignment_id)
    if assignment is None:  # pragma: no cover - a foreign key holds it
        raise LookupError(token)
    return Held(sitting, assignment)


def given_to(connection: Connection, actor: Actor, assignment_id: int) -> StoredAssignment:
    """Return an assignment that is given to the actor; any other looks like none at all."""
    for assignment in assignment_people.assignments_for(connection, actor.person_id, actor.shop_id):
        if assignment.id == assignment_id:
            return assignment
    raise NotFoundError(
        "there is no such assignment for you.",
        field="assignment",
        value=assignment_id,
        remedy="Go to the list of what is due.",
    )


def item_at(connection: Connection, sitting: StoredSitting, number: int) -> StoredSittingItem:
    stored = sitting_items.find_item(connection, sitting.id, number)
    if stored is None:
        raise NotFoundError(
            "there is no such question.", field="question", value=number, remedy="Choose another."
        )
    return stored


def standing_of(assignment: StoredAssignment, tries: tuple[StoredSitting, ...]) -> Standing:
    return Standing(
        assignment.issue,
        assignment.opens_at,
        assignment.due_at,
        assignment.tries - len(tries),
        running=running_of(tries) is not None,
    )


def running_of(tries: tuple[StoredSitting, ...]) -> StoredSitting | None:
    return next((one for one in tries if one.state in RUNNING), None)
