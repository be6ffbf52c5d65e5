"""An item whose key was wrong, homework answered by it, and its correction: all invented.

The instructor is left to look at what the corrected key would change in the finished sittings.
"""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from quizsvc.demo.authoring import BANK, one_choice
from quizsvc.demo.classroom import ENGINE, PLACE, given_for, typed_fields
from quizsvc.demo.learner import right_answer
from quizsvc.items.model import Item
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Form, Terms
from quizsvc.rules.reviewing import Deed
from quizsvc.scoring.marking import Answer
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.house import House
from quizsvc.services.review import Decision, decide
from quizsvc.services.sitting import beginning, closing, saving_answers
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.services.sitting.words import Saving
from quizsvc.services.write_items import save
from quizsvc.store import shown_items, sitting_items, sittings

FORWARD, BACKWARD = "In its running direction", "Against its running direction"
TRUE_TO_LIFE = one_choice(
    "turning-by-hand",
    "procedure",
    "The new chain is on. Which way is the crankshaft turned by hand to look at the marks again?",
    (FORWARD, "So the drawn strand is taut, as it is when the engine runs."),
    (BACKWARD, "The slack wanders to the guided strand and can push the tensioner back."),
    ("A quarter to and fro", "The marks meet only after whole turns, so nothing is seen."),
    ("By the camshaft sprocket", "Its bolt and the chain are loaded as they never are in work."),
)
MISTAKEN = TRUE_TO_LIFE | {
    "options": [
        {"text": one["text"], "rationale": one["rationale"]}
        | ({"correct": True} if one["text"] == BACKWARD else {})
        for one in TRUE_TO_LIFE["options"]
    ]
}
WORDS = "The key stood at the wrong direction, and nobody saw it in review."


def ask_by_a_wrong_key(
    house: House,
    instructors: list[Actor],
    class_id: int,
    learners: list[Actor],
    *,
    now: datetime,
) -> int:
    """Let a class be asked the item by its wrong key; correct it later. Return the answers."""
    leader, second = instructors[0], instructors[1]
    written = now - timedelta(days=20)
    what = save(house, leader, BANK, MISTAKEN, said="First draft.", now=written)
    _approve(house, what.item_id, 1, leader, second, "Clear.", now=written)
    homework = _give_out(house, leader, class_id, now)
    answers = sum(
        _sit(house, learner, homework, taken_in=number % 3 == 0, now=now - timedelta(days=15))
        for number, learner in enumerate(learners)
    )
    closing.close_all_over(house, now=now - timedelta(days=8))
    closing.count_all_told(house, now=now - timedelta(days=8))
    found = now - timedelta(days=1)
    right = save(
        house, second, BANK, TRUE_TO_LIFE, item_id=what.item_id, based_on=1, said=WORDS, now=found
    )
    _approve(house, what.item_id, right.version, second, leader, WORDS, now=found)
    return answers


def _approve(
    house: House,
    item_id: int,
    version: int,
    writer: Actor,
    reviewer: Actor,
    words: str,
    *,
    now: datetime,
) -> None:
    """Send a version and approve it; answers given to an earlier one are marked again."""
    decide(house, writer, item_id, Decision(Deed.SENT, version), now=now)
    decision = Decision(Deed.APPROVED, version, words, mark_again=version > 1)
    decide(house, reviewer, item_id, decision, now=now + timedelta(hours=1))


def _give_out(house: House, leader: Actor, class_id: int, now: datetime) -> int:
    begins = now - timedelta(days=16)
    terms = Terms("After the chain is on", Form.HOMEWORK, begins, now - timedelta(days=8))
    made = drafting.draft(house, leader, terms, Audience(class_id), now=begins)
    questions.add_bank_item(house, leader, made, item_ref=f"bank:{BANK}/turning-by-hand")
    questions.add_by_blueprint(house, leader, made, {"marks": 2}, sheet=ENGINE)
    giving_out.issue(house, leader, made, now=begins)
    return made


def _sit(house: House, actor: Actor, homework: int, *, taken_in: bool, now: datetime) -> int:
    """Let a learner answer all of it; who is taken in says what the wrong key says."""
    token = beginning.begin(house, actor, homework, place=PLACE, now=now)
    with house.read() as connection:
        sitting = sittings.find_sitting(connection, token)
        stored = sitting_items.items_of(connection, sitting.id) if sitting else ()
        items = [
            (one.number, one.seed, thaw(shown_items.content_of(connection, one.shown_hash)))
            for one in stored
        ]
    for number, seed, item in items:
        given = given_for(_answer(item, taken_in=taken_in), item, seed)
        saving = Saving(typed_fields(given), given, 1, secrets.token_hex(16))
        at = now + timedelta(minutes=number)
        saving_answers.save(house, actor, token, number, saving, place=PLACE, now=at)
    closing.hand_in(house, actor, token, now=now + timedelta(minutes=10))
    return len(items)


def _answer(item: Item, *, taken_in: bool) -> Answer:
    """Return what is truly right, or of our own item what its wrong key says."""
    texts = [option.text for option in item.options]
    if FORWARD not in texts:
        return right_answer(item)
    return Answer(choices=(texts.index(BACKWARD if taken_in else FORWARD),))
