"""A class in the invented workshop, assignments given to it, and answers to whatever comes."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from itertools import count

from sqlalchemy import text
from workshop import NOON, Workshop

from quizsvc.items.model import Kind
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Feedback, Form, Terms
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.house import House
from quizsvc.services.shown import Given
from quizsvc.services.sitting import question_pages, saving_answers
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.services.sitting.words import Saved, Saving
from quizsvc.store import classes, shown_items, sitting_items, sittings
from quizsvc.store.classes import Part

WRITTEN = ("first-step", "several", "percent", "order", "match")
BLANK = {
    "home": Terms("Homework", Form.HOMEWORK, NOON, NOON + timedelta(days=7)),
    "test": Terms("Test", Form.TIMED_TEST, NOON, None, minutes=30, feedback=Feedback.ON_RELEASE),
}
_keys = count(1)


@dataclass
class Room:
    """A class: Ida leads it, Ana and Ben learn in it."""

    house: House
    ida: Actor
    ana: Actor
    ben: Actor
    class_id: int


def make_room(workshop: Workshop) -> Room:
    people = workshop.people
    with workshop.house.write() as connection:
        class_id = classes.add_class(connection, workshop.shop_id, "Group A", now=NOON)
        classes.add_member(connection, class_id, people["ida"].person_id, Part.INSTRUCTOR, now=NOON)
        for name in ("ana", "ben"):
            classes.add_member(connection, class_id, people[name].person_id, Part.LEARNER, now=NOON)
    return Room(workshop.house, people["ida"], people["ana"], people["ben"], class_id)


def give_out(room: Room, terms: Terms, items: tuple[str, ...] = WRITTEN) -> int:
    """Give an assignment of items of the workshop's bank out to the class."""
    assignment_id = drafting.draft(room.house, room.ida, terms, Audience(room.class_id), now=NOON)
    for item in items:
        questions.add_bank_item(
            room.house, room.ida, assignment_id, item_ref=f"bank:workshop/{item}"
        )
    giving_out.issue(room.house, room.ida, assignment_id, now=NOON)
    return assignment_id


def new_key() -> str:
    return f"key-of-a-test-{next(_keys):06d}"


def saving(given: Given, sequence: int = 1, key: str = "") -> Saving:
    typed = {name: [json.dumps(value)] for name, value in asdict(given).items() if value}
    return Saving(typed, given, sequence, key or new_key())


def save(
    room: Room,
    actor: Actor,
    token: str,
    number: int,
    given: Given,
    *,
    sequence: int = 1,
    key: str = "",
    place: str = "desk",
    now: datetime,
) -> Saved:
    sent = saving(given, sequence, key)
    return saving_answers.save(room.house, actor, token, number, sent, place=place, now=now)


def right_given(room: Room, token: str, number: int) -> Given:
    """Return the right answer to a question as the page would send it."""
    with room.house.read() as connection:
        sitting = sittings.find_sitting(connection, token)
        stored = sitting_items.find_item(connection, sitting.id, number)
        item = thaw(shown_items.content_of(connection, stored.shown_hash))
        owner = next(
            actor for actor in (room.ana, room.ben) if actor.person_id == sitting.person_id
        )
    shown = question_pages.page(
        room.house, owner, token, number=number, place="desk", now=sitting.last_at
    ).item
    match item.kind:
        case Kind.ONE_CHOICE | Kind.SEVERAL_CHOICES:
            return Given(
                choices=tuple(n for n, option in enumerate(item.options, 1) if option.correct)
            )
        case Kind.NUMBER | Kind.BENCH:
            return Given(number=str(item.key.value))
        case Kind.ORDER:
            positions = {choice.text: choice.number for choice in shown.things}
            return Given(order=tuple(positions[thing] for thing in item.key.sequence))
        case Kind.MATCH:
            partners = {choice.text: choice.number for choice in shown.partners}
            right = dict(item.key.pairs)
            return Given(
                pairs=tuple((one.number, partners[right[one.text]]) for one in shown.things)
            )
        case _:
            raise NotImplementedError(item.kind)


def answer_all_right(room: Room, actor: Actor, token: str, now: datetime) -> None:
    with room.house.read() as connection:
        sitting = sittings.find_sitting(connection, token)
        numbers = [one.number for one in sitting_items.items_of(connection, sitting.id)]
    for number in numbers:
        save(room, actor, token, number, right_given(room, token, number), now=now)


def stored_count(house: House, table: str) -> int:
    with house.read() as connection:
        return connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one()  # noqa: S608
