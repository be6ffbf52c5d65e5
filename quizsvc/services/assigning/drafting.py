"""Draft an assignment for an audience, and change its terms."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Issue, Terms, check_terms
from quizsvc.rules.permissions import May, require
from quizsvc.services.assigning.access import runs
from quizsvc.services.house import House
from quizsvc.store import assignment_people, assignments, classes, people_pages
from quizsvc.store.assignments import StoredAssignment


@dataclass(frozen=True, slots=True)
class Audience:
    """Whom an assignment is for: a class, persons by key, or both."""

    class_id: int | None = None
    person_ids: frozenset[int] = frozenset()


def draft(house: House, actor: Actor, terms: Terms, audience: Audience, *, now: datetime) -> int:
    """Make an assignment that nobody sees yet, and return its key.

    Raises:
        InputError: the terms cannot be kept, or it is for nobody.
        NotFoundError: a class or person is not of the actor's.
    """
    require(actor, May.ASSIGN)
    check_terms(terms)
    with house.write() as connection:
        check_audience(connection, actor, audience)
        assignment_id = assignments.add_assignment(
            connection,
            shop_id=actor.shop_id,
            maker_id=actor.person_id,
            class_id=audience.class_id,
            issue=Issue.DRAFT.value,
            seed=house.seeds(),
            made_at=now,
            **columns_of(terms),
        )
        assignment_people.set_people(connection, assignment_id, set(audience.person_ids))
    return assignment_id


def change(
    house: House,
    actor: Actor,
    assignment_id: int,
    terms: Terms,
    audience: Audience,
    *,
    now: datetime,  # noqa: ARG001 - every service takes the time
) -> None:
    """Change the terms. Of what is given out only title, words, times and people may change."""
    check_terms(terms)
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        check_audience(connection, actor, audience)
        columns = columns_of(terms)
        if held.issue is not Issue.DRAFT:
            fixed = {name: columns[name] for name in _FIXED_ONCE_ISSUED}
            if any(getattr(held, name) != value for name, value in fixed.items()):
                raise ConflictError(
                    "it is given out: form, time, tries, feedback and numbers stay as they are.",
                    field="assignment",
                    value=held.title,
                    remedy="Withdraw it and make another, or change only times and people.",
                )
        assignments.change_assignment(
            connection, assignment_id, class_id=audience.class_id, **columns
        )
        assignment_people.set_people(connection, assignment_id, set(audience.person_ids))


_FIXED_ONCE_ISSUED = (
    "form",
    "minutes",
    "tries",
    "feedback",
    "shuffled",
    "own_numbers",
    "invigilated",
)


def check_audience(connection: Connection, actor: Actor, audience: Audience) -> None:
    if audience.class_id is None and not audience.person_ids:
        raise InputError(
            "it is for nobody.",
            field="class",
            value="none",
            remedy="Choose a class, or persons by name.",
        )
    leads = classes.led_by(connection, actor.person_id)
    if audience.class_id is not None and audience.class_id not in leads:
        raise NotFoundError(
            "you lead no such class.",
            field="class",
            value=audience.class_id,
            remedy="Choose one of those on the page.",
        )
    known = {one[0] for one in people_pages.active_learners(connection, actor.shop_id)}
    if strangers := audience.person_ids - known:
        raise NotFoundError(
            "there is no such learner in this shop.",
            field="persons",
            value=min(strangers),
            remedy="Choose some of those on the page.",
        )


def columns_of(terms: Terms) -> dict[str, object]:
    return {
        "title": terms.title.strip(),
        "words": terms.words.strip(),
        "form": terms.form.value,
        "opens_at": terms.opens_at,
        "due_at": terms.due_at,
        "tries": terms.tries,
        "minutes": terms.minutes,
        "feedback": terms.feedback.value,
        "shuffled": terms.shuffled,
        "own_numbers": terms.own_numbers,
        "invigilated": terms.invigilated,
    }


def terms_of(held: StoredAssignment) -> Terms:
    return Terms(
        held.title,
        held.form,
        held.opens_at,
        held.due_at,
        held.tries,
        held.minutes,
        held.feedback,
        held.shuffled,
        held.own_numbers,
        held.invigilated,
        held.words,
    )
