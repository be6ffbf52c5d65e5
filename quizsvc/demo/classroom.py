"""The invented shop's assignments: one done, one to do, one test being sat."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from quizsvc.demo.learner import invent_learner
from quizsvc.demo.names import SEED
from quizsvc.errors import InputError
from quizsvc.items.model import Item, Kind
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Feedback, Form, Terms
from quizsvc.scoring.marking import Answer
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.house import House
from quizsvc.services.putting import partners_of, things_of
from quizsvc.services.shown import Given
from quizsvc.services.sitting import beginning, closing, saving_answers
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.services.sitting.words import Saving
from quizsvc.store import shown_items, sitting_items, sittings

ENGINE = "demo-vee-six"
BELT_ENGINE = "demo-inline-three"
PLACE = "demo"


def give_out_assignments(
    house: House, leader: Actor, class_id: int, learners: list[Actor], *, now: datetime
) -> int:
    """Give a class homework that is done, homework to do, and a test that some are sitting.

    Return how many answers are in the learners' records by that.
    """
    answers = 0
    week = timedelta(days=7)
    done = _made(
        house,
        leader,
        class_id,
        Terms("Pins, marks and firing order", Form.HOMEWORK, now - 2 * week, now - week),
        {"cycle": 2, "marks": 3},
        now - 2 * week,
    )
    for learner in learners:
        begun = now - 2 * week + timedelta(hours=2)
        answers += _sit(house, learner, done, begun, share=1.0, hand_in=True)
    closing.close_all_over(house, now=now - week)
    _made(
        house,
        leader,
        class_id,
        Terms(
            "Valve events before the workshop day",
            Form.HOMEWORK,
            now - timedelta(days=1),
            now + week,
            tries=2,
            words="Have the engine sheet beside you.",
        ),
        {"valves": 4, "wear": 2},
        now - timedelta(days=1),
    )
    _made(
        house,
        leader,
        class_id,
        Terms(
            "A belt is no chain",
            Form.HOMEWORK,
            now - timedelta(days=1),
            now + 2 * week,
            tries=3,
            words="On the engine with the toothed belt. Count its teeth in the picture.",
        ),
        {"marks": 3, "wear": 2, "chain": 2},
        now - timedelta(days=1),
        engine=BELT_ENGINE,
    )
    test = _made(
        house,
        leader,
        class_id,
        Terms(
            "Timing drives, test 1",
            Form.TIMED_TEST,
            now - timedelta(hours=1),
            now + timedelta(days=1),
            minutes=90,
            feedback=Feedback.ON_RELEASE,
        ),
        {"cycle": 2, "piston": 2, "marks": 2, "chain": 2},
        now - timedelta(hours=1),
    )
    for number, learner in enumerate(learners[1:5]):
        begun = now - timedelta(minutes=20 - number)
        _sit(house, learner, test, begun, share=0.2 + 0.2 * number, hand_in=number == 3)
    return answers


def _made(
    house: House,
    leader: Actor,
    class_id: int,
    terms: Terms,
    blueprint: dict[str, int],
    now: datetime,
    *,
    engine: str = ENGINE,
) -> int:
    made = drafting.draft(house, leader, terms, Audience(class_id), now=now)
    questions.add_by_blueprint(house, leader, made, blueprint, sheet=engine)
    giving_out.issue(house, leader, made, now=now)
    return made


def _sit(
    house: House, actor: Actor, assignment_id: int, now: datetime, *, share: float, hand_in: bool
) -> int:
    """Let a simulated learner answer a share of the questions; return how many."""
    learner = invent_learner(SEED + 7 * actor.person_id)
    token = beginning.begin(house, actor, assignment_id, place=PLACE, now=now)
    with house.read() as connection:
        sitting = sittings.find_sitting(connection, token)
        stored = sitting_items.items_of(connection, sitting.id) if sitting else ()
        items = [
            (one.number, one.seed, thaw(shown_items.content_of(connection, one.shown_hash)))
            for one in stored
        ]
    answered = items[: max(1, round(share * len(items)))]
    for number, seed, item in answered:
        given = given_for(learner.answers(item), item, seed)
        at = now + timedelta(minutes=number)
        saving = Saving(typed_fields(given), given, 1, secrets.token_hex(16))
        saving_answers.save(house, actor, token, number, saving, place=PLACE, now=at)
    if hand_in:
        closing.hand_in(house, actor, token, now=now + timedelta(minutes=len(items) + 1))
    return len(answered)


def given_for(answer: Answer, item: Item, seed: int) -> Given:
    """Return an answer as the page would send it."""
    match item.kind:
        case Kind.ONE_CHOICE | Kind.SEVERAL_CHOICES:
            return Given(choices=tuple(number + 1 for number in answer.choices))
        case Kind.NUMBER | Kind.BENCH:
            return Given(number=str(answer.number))
        case Kind.ORDER:
            things = things_of(item, seed)
            return Given(order=tuple(things.index(thing) + 1 for thing in answer.sequence))
        case Kind.MATCH:
            things, partners = things_of(item, seed), partners_of(item, seed)
            return Given(
                pairs=tuple(
                    (things.index(thing) + 1, partners.index(partner) + 1)
                    for thing, partner in answer.pairs
                )
            )
        case Kind.POINT:
            centres = [place.centre for place in item.places]
            if answer.point not in centres:
                raise InputError("a simulated learner pointed beside every place")
            return Given(place=centres.index(answer.point) + 1)


def typed_fields(given: Given) -> dict[str, list[str]]:
    """Return the answer as the fields of its page, so that it is seen there again."""
    fields = {
        "choice": [str(number) for number in given.choices],
        "number": [given.number] if given.number else [],
        "place": [str(given.place)] if given.place else [],
    }
    fields |= {f"place-{thing}": [str(n)] for n, thing in enumerate(given.order, 1)}
    fields |= {f"partner-{thing}": [str(partner)] for thing, partner in given.pairs}
    return {name: texts for name, texts in fields.items() if texts}
