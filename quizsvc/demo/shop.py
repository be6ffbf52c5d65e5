"""The invented shop's jobs and shifts, who read which sheet, and the team week by week."""

from __future__ import annotations

from datetime import datetime, timedelta

from quizsvc.demo import own_sheet
from quizsvc.demo.learner import invent_learner
from quizsvc.demo.names import SEED
from quizsvc.items.choosing import Draw
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.job_needs import JobNeeds, TaskNeed, TopicNeed
from quizsvc.services import bridging, changed_truth, read_sheets, shop_jobs
from quizsvc.services.answering import answer_offer
from quizsvc.services.house import SEED_BITS, House
from quizsvc.services.next_item import Wish, choose
from quizsvc.services.practise import offer
from quizsvc.services.team_trend import count_weeks
from quizsvc.store.read_revisions import mark_read
from quizsvc.store.sheets import find_revision

SHIFTS = ("early", "late")
ENGINES = ("demo-inline-four", "demo-vee-six", "demo-vee-eight", "demo-inline-three")
# title, what it is, topics with the share to get right, engine sheets
JOBS: tuple[tuple[str, str, dict[str, float], tuple[str, ...]], ...] = (
    (
        "Check valve timing, in-line four",
        "Marks, pins and slack, without opening the drive.",
        {"cycle": 0.5, "marks": 0.55},
        ENGINES[:1],
    ),
    (
        "Replace a primary chain, vee six",
        "Invented for teaching, as all of this shop is.",
        {"cycle": 0.55, "marks": 0.6, "chain": 0.5},
        ENGINES[1:2],
    ),
    (
        "Replace a primary chain, vee eight",
        "Two people; the heads stay on.",
        {"cycle": 0.6, "marks": 0.6, "chain": 0.55, "valves": 0.5},
        ENGINES[2:3],
    ),
    (
        "Renew a timing belt, in-line three",
        "By distance or age; teeth counted, two turns by hand. Interference engine.",
        {"marks": 0.55, "wear": 0.55, "chain": 0.5},
        ENGINES[3:],
    ),
    (
        "Time the engine on the stand",
        "Its sheet has a later revision, so whoever read the first is out of date.",
        {"marks": 0.5},
        (own_sheet.ENGINE,),
    ),
    ("Replace a tensioner", "", {"wear": 0.5, "chain": 0.5}, ()),
    ("Find a cam sensor fault", "Correlation of cam and crank.", {"signals": 0.5}, ()),
    ("Renew an accessory belt", "", {"accessory": 0.5}, ()),
)


# Topics that the first learners of the list know well, so that some jobs can be done.
SEASONED: tuple[tuple[str, ...], ...] = (
    ("cycle", "marks", "chain", "valves", "wear"),
    ("cycle", "marks", "signals"),
    ("wear", "chain", "accessory"),
    ("cycle", "marks", "chain"),
    ("signals", "accessory"),
    ("cycle", "marks", "wear"),
)
ANSWERS_PER_TOPIC = 16
KNOWS_WELL = 3.0  # logits
BRIDGED = 4  # people


def furnish_shop(house: House, actors: list[Actor], *, now: datetime) -> int:
    """Give the shop jobs and shifts, its people sheets they have read, some of them more practice.

    Returns the number of answers given.

    Needs practice to be there, and schemes if there are to be any in the jobs.
    """
    manager = next(one for one in actors if one.is_a(Role.MANAGER))
    learners = [one for one in actors if one.is_a(Role.LEARNER)]
    for number, learner in enumerate(learners):
        shift = SHIFTS[number % len(SHIFTS)]
        shop_jobs.set_shift(house, manager, learner.person_id, shift, now=now)
        _read_some(house, learner, now)
    answers = sum(
        _practise_for(house, learner, topics, now)
        for learner, topics in zip(learners, SEASONED, strict=False)
    )
    choices = shop_jobs.choices(house, manager)
    for title, about, topics, engines in JOBS:
        needs = JobNeeds(tuple(TopicNeed(*one) for one in topics.items()), sheets=engines)
        shop_jobs.keep(house, manager, None, title, about, needs, now=now)
    if choices.schemes:
        _keep_certified_job(house, manager, choices, now)
    _bridge_the_change(house, manager, now)
    count_weeks(house, now=now)
    return answers


def _read_some(house: House, learner: Actor, now: datetime) -> None:
    draw = Draw("demo shop", SEED, learner.person_id)
    for sheet_id in ENGINES:
        if draw.integer(1, 100) <= 80:
            revision = read_sheets.read_sheet(house, learner, sheet_id).row.revision
            at = now - timedelta(days=draw.integer(1, 40))
            read_sheets.say_read(house, learner, sheet_id, revision, now=at)
    with house.write() as connection:
        first = find_revision(connection, own_sheet.ENGINE, 1)
        if first is not None:  # read when it was the newest
            mark_read(connection, learner.person_id, first.id, now=now - timedelta(days=60))


def _bridge_the_change(house: House, manager: Actor, now: datetime) -> None:
    """Order a quiz about the later revision for some of those whose answers rest on the first."""
    found = changed_truth.sheet_change(house, manager, own_sheet.ENGINE)
    chosen = [one.person_id for one in found.people[:BRIDGED]]
    if chosen and found.families:
        bridging.order_for_sheet(house, manager, own_sheet.ENGINE, chosen, now=now)


def _practise_for(house: House, learner: Actor, topics: tuple[str, ...], now: datetime) -> int:
    """Let somebody who knows the topics well practise them lately; return how many answers."""
    skilled = invent_learner(SEED + 11 * learner.person_id)
    skilled.levels.update(dict.fromkeys(topics, KNOWS_WELL))
    draw = Draw("demo shop practice", SEED, learner.person_id)
    at = now - timedelta(days=20)
    with house.write() as connection:
        for topic in topics * ANSWERS_PER_TOPIC:
            at += timedelta(minutes=draw.integer(10, 240))
            seed = draw.integer(0, (1 << SEED_BITS) - 1)
            wish = Wish(topic=topic, sheet=None)
            chosen = choose(connection, house.shelf, learner, wish, seed=seed, now=at)
            token = offer(connection, learner, chosen, now=at)
            answer_offer(connection, token, chosen.item, skilled.answers(chosen.item), now=at)
    return len(topics) * ANSWERS_PER_TOPIC


def _keep_certified_job(
    house: House, manager: Actor, choices: shop_jobs.NeedChoices, now: datetime
) -> None:
    scheme_id, title = choices.schemes[0]
    tasks = [value.partition("/") for value, _ in choices.tasks]
    needs = JobNeeds(
        topics=(TopicNeed("safety", 0.5),),
        schemes=(scheme_id,),
        tasks=tuple(TaskNeed(scheme_id, task) for key, _, task in tasks if key == str(scheme_id)),
    )
    about = f"Only with a valid certificate: {title}."
    shop_jobs.keep(house, manager, None, "Work alone on a timing drive", about, needs, now=now)
