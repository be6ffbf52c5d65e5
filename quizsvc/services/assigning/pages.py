"""Assignments as those who run or watch them see them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError
from quizsvc.items.markdown import plain_words
from quizsvc.items.model import Item
from quizsvc.items.topics import find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Issue, Terms, may_watch
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.marking import right_words
from quizsvc.services.assigning.access import run_of, runs
from quizsvc.services.assigning.drafting import Audience, terms_of
from quizsvc.services.house import House
from quizsvc.services.item_titles import item_title
from quizsvc.services.recipes import draw
from quizsvc.services.sitting.laying_out import recipe_at, seed_for_all
from quizsvc.store import assignment_people, assignment_questions, assignments, classes
from quizsvc.store.assignment_questions import StoredQuestion
from quizsvc.store.assignments import StoredAssignment


@dataclass(frozen=True, slots=True)
class QuestionLine:
    """A question of an assignment as its maker sees it, with the numbers all would get alike."""

    place: int
    topic_title: str
    title: str
    level: str
    kind: str
    sheet_title: str
    prompt: str
    right_words: str
    void_reason: str
    void: bool


@dataclass(frozen=True, slots=True)
class Draft:
    """An assignment as its maker sees it."""

    id: int
    terms: Terms
    issue: Issue
    audience: Audience
    audience_words: str
    questions: tuple[QuestionLine, ...]
    released_at: datetime | None


@dataclass(frozen=True, slots=True)
class Line:
    """An assignment in the list of those who run or watch it."""

    id: int
    title: str
    form: str
    issue: Issue
    opens_at: datetime
    due_at: datetime | None
    class_name: str
    questions: int


def list_run(house: House, actor: Actor, *, now: datetime) -> tuple[Line, ...]:  # noqa: ARG001
    """Return the assignments the actor runs or may watch, newest first."""
    require(actor, May.WATCH)
    with house.read() as connection:
        leads = classes.led_by(connection, actor.person_id)
        found = [
            one
            for one in assignments.assignments_of_shop(connection, actor.shop_id)
            if may_watch(actor, run_of(one), leads=leads)
        ]
        names = classes.class_names(connection, actor.shop_id)
        counts = assignment_questions.question_counts(connection, [one.id for one in found])
    return tuple(
        Line(
            one.id,
            one.title,
            one.form.value,
            one.issue,
            one.opens_at,
            one.due_at,
            names.get(one.class_id or 0, ""),
            counts.get(one.id, 0),
        )
        for one in found
    )


def look(house: House, actor: Actor, assignment_id: int) -> Draft:
    """Return an assignment as its maker sees it, every question with an example."""
    with house.read() as connection:
        held = runs(connection, actor, assignment_id)
        questions = tuple(
            _question_line(connection, house, held, question)
            for question in assignment_questions.questions_of(connection, assignment_id)
        )
        names = classes.class_names(connection, actor.shop_id)
        by_name = assignment_people.people_by_name(connection, assignment_id)
        takers = len(assignment_people.takers_of(connection, held))
    return Draft(
        held.id,
        terms_of(held),
        held.issue,
        Audience(held.class_id, by_name),
        f"{names.get(held.class_id or 0, 'Persons by name')}, {takers} in all",
        questions,
        held.released_at,
    )


def example_of(
    connection: Connection, house: House, held: StoredAssignment, question: StoredQuestion
) -> Item | None:
    """Return the item with the numbers all would get alike; None if it can be drawn no more."""
    try:
        recipe = recipe_at(question, seed_for_all(held, question))
        return draw(house.shelf, connection, recipe)
    except (InputError, ConflictError):
        return None


def _question_line(
    connection: Connection, house: House, held: StoredAssignment, question: StoredQuestion
) -> QuestionLine:
    item = example_of(connection, house, held, question)
    sheet_id = question.sheet_revision_id
    return QuestionLine(
        question.place,
        find_topic(question.topic).title,
        item_title(question.item_ref),
        question.level,
        question.kind,
        house.shelf.sheet(connection, sheet_id).title if sheet_id is not None else "",
        plain_words(item.prompt) if item else "This question can no longer be drawn.",
        right_words(item) if item else "",
        question.void_reason or "",
        void=question.voided_at is not None,
    )
