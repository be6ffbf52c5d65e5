"""Make the invented shop: people, classes, sheets, banks, and three months of answers.

All through the services, with the offers and items a real learner would have got.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta

from quizsvc.demo.authoring import review_items, write_items
from quizsvc.demo.certification import certify_people
from quizsvc.demo.classroom import give_out_assignments
from quizsvc.demo.corrected_key import ask_by_a_wrong_key
from quizsvc.demo.learner import DAYS, invent_learner, practice_times
from quizsvc.demo.names import SEED, SHOP, Invented, invent_people
from quizsvc.demo.own_sheet import measure_again, state_first
from quizsvc.demo.shop import furnish_shop
from quizsvc.demo.teaching import prepare_teaching
from quizsvc.items.choosing import Draw
from quizsvc.rules.actors import Actor, Role
from quizsvc.services.answering import answer_offer
from quizsvc.services.banks import bank_files, keep_bank
from quizsvc.services.house import SEED_BITS, House
from quizsvc.services.next_item import Wish, choose
from quizsvc.services.passwords import AT_ONCE
from quizsvc.services.people import NewPerson, enrol, make_shop
from quizsvc.services.practise import offer
from quizsvc.services.sheets import keep_shipped_sheets
from quizsvc.store.classes import Part, add_class, add_member

GROUPS = ("A", "B", "C")
ANYTHING = Wish(topic=None, sheet=None)
THINKING = timedelta(seconds=20)
ANSWERS_EACH = 72  # about, per learner
Progress = Callable[[str, int, int], None]  # what is being done, done, of how many


@dataclass(frozen=True, slots=True)
class Made:
    """How the people of the invented shop sign in, one for each role, and what was made."""

    sign_ins: dict[Role, Invented]
    people: int
    answers: int


def make_demo(
    house: House, *, password: str, learners: int, now: datetime, progress: Progress
) -> Made:
    """Fill an empty database with the invented shop."""
    opened = now - timedelta(days=DAYS + 7)
    invented = invent_people(learners)
    shop_id = _stock(house, opened, progress)
    actors = _enrol(house, shop_id, invented, password, opened, progress)
    rooms = _make_classes(house, shop_id, actors, opened)
    instructors = _with_role(actors, Role.INSTRUCTOR)
    written = write_items(house, instructors, opened + timedelta(days=1))
    state_first(house, instructors[0], now=opened + timedelta(days=1))
    answers = 0
    for number, actor in enumerate(_with_role(actors, Role.LEARNER), 1):
        answers += _practise(house, actor, now)
        progress("Three months of practice", number, learners)
    for leader, class_id, taught in rooms[:1]:
        answers += give_out_assignments(house, leader, class_id, taught, now=now)
        answers += ask_by_a_wrong_key(house, instructors, class_id, taught, now=now)
    review_items(house, instructors, written, now)
    measure_again(house, instructors[0], now=now)
    prepare_teaching(house, rooms[0][0], now=now)
    certify_people(house, actors, now=now)
    answers += furnish_shop(house, actors, now=now)
    first = {role: one for one in reversed(invented) for role in one.roles}
    return Made({role: first[role] for role in Role if role in first}, len(invented), answers)


def _stock(house: House, now: datetime, progress: Progress) -> int:
    banks = bank_files(house.settings.question_banks)
    with house.write() as connection:
        shop_id = make_shop(connection, SHOP, invented=True, now=now)
        keep_shipped_sheets(connection, house.settings.question_banks / "engines", now=now)
        for number, path in enumerate(banks, 1):
            media = house.settings.media
            keep_bank(connection, None, path, media=media, shop_id=None, now=now)
            progress("Engine sheets and question banks", number, len(banks))
    return shop_id


def _enrol(
    house: House,
    shop_id: int,
    invented: list[Invented],
    password: str,
    now: datetime,
    progress: Progress,
) -> list[Actor]:
    with ThreadPoolExecutor(AT_ONCE) as pool:
        hashes = list(pool.map(lambda _: house.passwords.hashed(password), invented))
    actors = []
    with house.write() as connection:
        for number, (one, hashed) in enumerate(zip(invented, hashes, strict=True), 1):
            new = NewPerson(one.name, one.sign_in_name, hashed, one.roles)
            person_id = enrol(connection, None, shop_id, new, now=now)
            actors.append(Actor(person_id, one.name, shop_id, one.roles, SHOP))
            progress("Invented people", number, len(invented))
    return actors


def _make_classes(
    house: House, shop_id: int, actors: list[Actor], now: datetime
) -> list[tuple[Actor, int, list[Actor]]]:
    """Make the classes; return each with its leader and learners."""
    rooms = []
    instructors, learners = _with_role(actors, Role.INSTRUCTOR), _with_role(actors, Role.LEARNER)
    with house.write() as connection:
        for number, group in enumerate(GROUPS):
            class_id = add_class(connection, shop_id, f"Timing drives, group {group}", now=now)
            leader = instructors[number % len(instructors)]
            add_member(connection, class_id, leader.person_id, Part.INSTRUCTOR, now=now)
            taught = learners[number :: len(GROUPS)]
            for learner in taught:
                add_member(connection, class_id, learner.person_id, Part.LEARNER, now=now)
            rooms.append((leader, class_id, taught))
    return rooms


def _practise(house: House, actor: Actor, end: datetime) -> int:
    """Let one learner practise for three months; return the number of answers."""
    learner = invent_learner(SEED + actor.person_id)
    draw = Draw("demo", SEED, actor.person_id)
    times = practice_times(learner, draw.integer(ANSWERS_EACH // 2, ANSWERS_EACH * 3 // 2), end)
    with house.write() as connection:
        for at in times:
            seed = draw.integer(0, (1 << SEED_BITS) - 1)
            chosen = choose(connection, house.shelf, actor, ANYTHING, seed=seed, now=at)
            token = offer(connection, actor, chosen, now=at)
            answer = learner.answers(chosen.item)
            answer_offer(connection, token, chosen.item, answer, now=at + THINKING)
    return len(times)


def _with_role(actors: list[Actor], role: Role) -> list[Actor]:
    return [actor for actor in actors if actor.is_a(role)]
