"""What learners see of a sitting: its questions, and the review."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotFoundError
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Item
from quizsvc.items.topics import find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Feedback
from quizsvc.rules.sittings import FINISHED
from quizsvc.scoring.marking import mark
from quizsvc.services.house import House
from quizsvc.services.putting import open_item
from quizsvc.services.sitting import closing, finishing, one_place, own_sittings
from quizsvc.services.sitting.finishing import ending, given_from, readable
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.services.sitting.own_sittings import Held
from quizsvc.services.sitting.words import Checked, FirstCheck, Review, SittingPage, Tab
from quizsvc.store import assignment_questions, shown_items, sitting_items, sitting_marks
from quizsvc.store.assignment_questions import StoredQuestion
from quizsvc.store.assignments import StoredAssignment
from quizsvc.store.offers import StoredOffer
from quizsvc.store.sitting_items import StoredSittingItem
from quizsvc.store.sitting_marks import RemarkedSitting


def page(
    house: House, actor: Actor, token: str, *, number: int, place: str, now: datetime
) -> SittingPage:
    """Return one question of a running sitting; no key, seed or misconception.

    Raises:
        ConflictError: the sitting has ended.
        NotFoundError: no such sitting or question for the actor.
    """
    held = closing.settle(house, actor, token, now=now)
    if held.sitting.state in FINISHED:
        raise ConflictError(
            "this sitting has ended.",
            field="sitting",
            value=held.sitting.state.value,
            remedy="Look at what was handed in.",
        )
    with house.read() as connection:
        questions = _questions(connection, held.assignment)
        items = sitting_items.items_of(connection, held.sitting.id)
        stored = own_sittings.item_at(connection, held.sitting, number)
        item = thaw(shown_items.content_of(connection, stored.shown_hash))
        question = questions[stored.question_id]
        each = held.assignment.feedback is Feedback.EACH
        return SittingPage(
            token=token,
            title=held.assignment.title,
            form=held.assignment.form,
            state=held.sitting.state,
            number=number,
            tabs=tuple(_tab(one) for one in items),
            item=open_item(
                _as_offer(held, question, stored, item),
                item,
                sheet_title=_sheet_title(connection, house, question),
                answered=stored.saved_at is not None,
            ),
            figure=shown_items.figure_of(connection, stored.shown_hash) or "",
            has_picture=bool(item.picture),
            typed=json.loads(stored.typed),
            sequence=stored.sequence,
            saved_at=stored.saved_at,
            look_again=stored.look_again,
            here=held.sitting.place_hash == one_place.hashed(place),
            place_since=held.sitting.place_since,
            ends_at=ending(held.assignment, held.sitting, now),
            left=held.sitting.clock.left(now),
            checks_each=each,
            checked=_checked(connection, stored, question)
            if each and stored.marked_at is not None
            else None,
        )


def picture(
    house: House, actor: Actor, token: str, number: int, *, now: datetime
) -> tuple[str, bytes]:
    """Return media type and bytes of a question's photograph as it was when shown."""
    held = closing.settle(house, actor, token, now=now)
    with house.read() as connection:
        stored = own_sittings.item_at(connection, held.sitting, number)
        found = shown_items.picture_of(connection, stored.shown_hash)
    if found is None:
        raise NotFoundError("this question has no picture.", field="picture", value=number)
    return found


def review(house: House, actor: Actor, token: str, *, now: datetime) -> Review:
    """Return a finished sitting: the answers and, once they may be told, what was right.

    Raises:
        ConflictError: it has not ended yet.
    """
    held = closing.settle(house, actor, token, now=now)
    sitting, assignment = held.sitting, held.assignment
    if sitting.finished_at is None:
        raise ConflictError("this sitting has not ended yet.", remedy="Hand in, then look again.")
    with house.read() as connection:
        told = finishing.told(connection, assignment, sitting, now=now)
        items = sitting_items.items_of(connection, sitting.id)
        questions = _questions(connection, assignment)
        again = sitting_marks.marks_of(connection, sitting.id) if told else ()
        newest = sitting_marks.newest_marks(again)
        answers = (
            tuple(
                _checked(connection, one, questions[one.question_id], newest=newest.get(one.number))
                for one in items
            )
            if told
            else ()
        )
    return Review(
        token,
        assignment.id,
        assignment.title,
        assignment.form,
        assignment.feedback,
        sitting.state,
        sitting.finished_at,
        sum(one.saved_at is not None for one in items),
        len(items),
        told,
        sitting.points if told else None,
        sitting.out_of if told else None,
        answers,
        again,
    )


def _tab(one: StoredSittingItem) -> Tab:
    return Tab(
        one.number, one.saved_at is not None, one.look_again, checked=one.marked_at is not None
    )


def _questions(connection: Connection, one: StoredAssignment) -> dict[int, StoredQuestion]:
    return {
        question.id: question for question in assignment_questions.questions_of(connection, one.id)
    }


def _sheet_title(connection: Connection, house: House, question: StoredQuestion) -> str:
    if question.sheet_revision_id is None:
        return ""
    return house.shelf.sheet(connection, question.sheet_revision_id).title


def _as_offer(
    held: Held, question: StoredQuestion, stored: StoredSittingItem, item: Item
) -> StoredOffer:
    """Return the question in the form in which items are put to people."""
    return StoredOffer(
        id=0,
        token=held.sitting.token,
        person_id=held.sitting.person_id,
        shop_id=held.sitting.shop_id,
        topic=item.topic,
        item_ref=question.item_ref,
        item_version=question.item_version,
        level=question.level,
        kind=question.kind,
        sheet_revision_id=question.sheet_revision_id,
        bank_item_version_id=question.bank_item_version_id,
        seed=stored.seed,
        item_hash="",
        why="",
        made_at=held.sitting.opened_at,
    )


def _checked(
    connection: Connection,
    stored: StoredSittingItem,
    question: StoredQuestion,
    *,
    newest: RemarkedSitting | None = None,
) -> Checked:
    """Return what was right about one question; the caller knows that it may be told."""
    first = _first_checked(connection, stored, question)
    if newest is None:
        return first
    idea = all_misconceptions().get(newest.misconception or "")
    # What the old key said of the answer, in words or in a drawing, no longer holds.
    return replace(
        first,
        correct=bool(newest.correct),
        credit=newest.credit or 0.0,
        right_words=newest.right_words or "",
        misconception_title=idea.title if idea else "",
        misconception_says=idea.but if idea else "",
        rationale="",
        steps=(),
        figure=shown_items.figure_of(connection, stored.shown_hash) or "",
        first=FirstCheck(first.correct, first.right_words),
    )


def _first_checked(
    connection: Connection, stored: StoredSittingItem, question: StoredQuestion
) -> Checked:
    """Return what was made of an answer when the sitting ended."""
    item = thaw(shown_items.content_of(connection, stored.shown_hash))
    answer, _ = readable(item, stored.seed, given_from(stored.given))
    idea = all_misconceptions().get(stored.misconception or "")
    return Checked(
        number=stored.number,
        prompt=item.prompt,
        correct=bool(stored.correct),
        credit=stored.credit or 0.0,
        void=question.voided_at is not None,
        void_reason=question.void_reason or "",
        given_words=stored.given_words or "",
        right_words=stored.right_words or "",
        misconception_title=idea.title if idea else "",
        misconception_says=idea.but if idea else "",
        rationale=mark(item, answer).rationale if answer is not None else "",
        steps=item.steps,
        caution=item.caution,
        reference=item.reference,
        topic_title=find_topic(item.topic).title,
        figure=shown_items.solution_of(connection, stored.shown_hash) or "",
        picture=bool(item.picture),
        picture_alt=item.picture_alt,
    )
