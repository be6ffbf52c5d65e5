"""Give assignments out and withdraw them."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import MOST_QUESTIONS, Issue, Terms, check_terms
from quizsvc.rules.audit import Action
from quizsvc.services.assigning.access import draft_of, runs
from quizsvc.services.assigning.drafting import Audience, check_audience, columns_of
from quizsvc.services.assigning.question_pool import Pick
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.store import assignment_people, assignment_questions, assignments


def issue(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> None:
    """Give it out: from then on its questions stay."""
    with house.write() as connection:
        held = draft_of(connection, actor, assignment_id)
        if not assignment_questions.questions_of(connection, assignment_id):
            raise InputError(
                "it has no question yet.", field="questions", value=0, remedy="Add some first."
            )
        assignments.change_assignment(connection, assignment_id, issue=Issue.ISSUED.value)
        note(
            connection,
            actor,
            Action.ASSIGNMENT_ISSUED,
            f"assignment {held.id}",
            now=now,
            form=held.form.value,
        )


def withdraw(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> None:
    """Take it back: nobody can begin it any more; who is in it may finish."""
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        assignments.change_assignment(connection, assignment_id, issue=Issue.WITHDRAWN.value)
        note(connection, actor, Action.ASSIGNMENT_WITHDRAWN, f"assignment {held.id}", now=now)


def give_out(
    connection: Connection,
    house: House,
    actor: Actor,
    terms: Terms,
    person_ids: frozenset[int],
    picks: tuple[Pick, ...],
    *,
    now: datetime,
) -> int:
    """Make an assignment of chosen questions and give it out, in the caller's transaction.

    Who may order it was checked by the caller.

    Raises:
        InputError: the terms cannot be kept, or there is nobody or nothing to ask.
        NotFoundError: somebody is no learner of the actor's shop.
    """
    check_terms(terms)
    check_audience(connection, actor, Audience(None, person_ids))
    if not 1 <= len(picks) <= MOST_QUESTIONS:
        raise InputError(
            "that number of questions is not possible.",
            field="questions",
            value=len(picks),
            remedy=f"1 to {MOST_QUESTIONS}.",
        )
    assignment_id = put_out(connection, house, actor, terms, set(person_ids), picks, now=now)
    subject = f"assignment {assignment_id}"
    note(connection, actor, Action.ASSIGNMENT_ISSUED, subject, now=now, form=terms.form.value)
    return assignment_id


def put_out(
    connection: Connection,
    house: House,
    actor: Actor,
    terms: Terms,
    person_ids: set[int],
    picks: tuple[Pick, ...],
    *,
    now: datetime,
) -> int:
    """Store an assignment of chosen questions as given out; checks and notes are the caller's."""
    assignment_id = assignments.add_assignment(
        connection,
        shop_id=actor.shop_id,
        maker_id=actor.person_id,
        class_id=None,
        issue=Issue.ISSUED.value,
        seed=house.seeds(),
        made_at=now,
        **columns_of(terms),
    )
    assignment_people.set_people(connection, assignment_id, person_ids)
    rows = [pick.columns(place) for place, pick in enumerate(picks, 1)]
    assignment_questions.replace_questions(connection, assignment_id, rows)
    return assignment_id
