"""The same work for right and wrong, for known and unknown: so no clock can tell them apart."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import pytest
from classroom import BLANK, WRITTEN, Room, give_out, right_given
from flask.testing import FlaskClient
from sqlalchemy import text
from visitors import Visitor, visitors_of
from whole_shop import reopened
from work_done import Work, work_of
from workshop import NOON, PASSWORD

from quizsvc.items.model import Item
from quizsvc.rules.actors import Actor, Role
from quizsvc.scoring.marking import mark
from quizsvc.services.house import House
from quizsvc.services.passwords import Passwords
from quizsvc.services.shown import Given
from quizsvc.services.sitting import beginning
from quizsvc.services.sitting.finishing import readable
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.store import shown_items, sitting_items, sittings
from quizsvc.web.app import create_app

TURNS = 4  # right, wrong, right, wrong


@dataclass
class Sat:
    """A sitting of Ben's with questions of every kind, each with a right and a wrong answer."""

    ben: Visitor
    token: str
    answers: dict[int, tuple[Given, Given]]  # by number: right, wrong
    items: dict[int, tuple[Item, int]]  # by number, with its seed


@pytest.fixture(scope="module")
def sat(furnished_shop, tmp_path_factory) -> Iterator[Sat]:
    folder = tmp_path_factory.mktemp("work")
    shutil.copytree(furnished_shop.folder, folder, dirs_exist_ok=True)
    house = reopened(folder)
    app = create_app(house, clock=lambda: NOON, overrides={"RATELIMIT_ENABLED": False})
    app.test_client_class = FlaskClient
    ben = visitors_of(app)["l"]
    room = room_in(house)
    test = give_out(room, BLANK["test"])
    place = ben.cookies.partition("place=")[2]
    token = beginning.begin(house, room.ben, test, place=place, now=NOON)
    right = {number: right_given(room, token, number) for number in range(1, len(WRITTEN) + 1)}
    answers = {number: (one, wrong_for(one)) for number, one in right.items()}
    yield Sat(ben, token, answers, items_of(house, token))
    house.close()


def room_in(house: House) -> Room:
    with house.read() as connection:
        rows = connection.execute(text("SELECT id, name FROM person")).all()
        class_id = connection.scalar(text("SELECT min(id) FROM training_class"))
        shop_id = connection.scalar(text("SELECT min(id) FROM shop"))
    ids = {name.lower(): key for key, name in rows}

    def actor(name: str, role: Role) -> Actor:
        return Actor(ids[name], name.title(), shop_id, frozenset({role}))

    learners = (actor("ana", Role.LEARNER), actor("ben", Role.LEARNER))
    return Room(house, actor("ida", Role.INSTRUCTOR), *learners, class_id)


def items_of(house: House, token: str) -> dict[int, tuple[Item, int]]:
    with house.read() as connection:
        sitting = sittings.find_sitting(connection, token)
        return {
            one.number: (thaw(shown_items.content_of(connection, one.shown_hash)), one.seed)
            for one in sitting_items.items_of(connection, sitting.id)
        }


def wrong_for(right: Given) -> Given:
    """Return an answer as long as the right one, and wrong."""
    if right.choices:
        other = min({1, 2, 3} - set(right.choices))
        return Given(choices=tuple(sorted((*right.choices[1:], other))))
    if right.number:
        return Given(number=f"{9 - int(right.number[0])}{right.number[1:]}")
    if right.order:
        return Given(order=right.order[1:] + right.order[:1])
    partners = [partner for _, partner in right.pairs]
    turned = partners[1:] + partners[:1]
    return Given(
        pairs=tuple((line, one) for (line, _), one in zip(right.pairs, turned, strict=True))
    )


def fields_of(given: Given) -> dict[str, list[str] | str]:
    """Return an answer as its page would send it."""
    fields: dict[str, list[str] | str] = {}
    if given.choices:
        fields["choice"] = [str(one) for one in given.choices]
    if given.number:
        fields["number"] = given.number
    fields |= {f"place-{line}": str(place) for place, line in enumerate(given.order, 1)}
    return fields | {f"partner-{line}": str(one) for line, one in given.pairs}


def saved(sat: Sat, number: int, given: Given, sequence: int) -> bytes:
    fields = fields_of(given) | {
        "csrf_token": sat.ben.token,
        "sequence": str(sequence),
        "key": f"key-of-equal-work-{number}-{sequence}",
    }
    headers = {"Cookie": sat.ben.cookies, "Accept": "application/json"}
    address = f"/classroom/sittings/{sat.token}/{number}"
    answer = sat.ben.client.post(address, data=fields, headers=headers)
    assert answer.status_code == 200, answer.text
    return str(sorted(answer.headers.items())).encode() + answer.data


def test_saving_a_right_answer_is_the_same_work_as_saving_a_wrong_one(sat, say):
    """Statement by statement and call by call, in the bytes and headers that come back too."""
    calls = []
    for number, (right, wrong) in sat.answers.items():
        assert right != wrong
        for sequence in (1, 2):  # the first save of a question makes a row, later ones change it
            saved(sat, number, (right, wrong)[sequence - 1], sequence)
        works = []
        for sequence in range(3, 3 + TURNS):
            given = (right, wrong)[sequence % 2]
            works.append(work_of(partial(saved, sat, number, given, sequence)))
        for one in works[1:]:
            assert one.statements == works[0].statements, number
            assert one.ours == works[0].ours, number
            assert one.calls == works[0].calls, number
            assert one.bytes_sent == works[0].bytes_sent, number
        assert works[0].statements
        assert works[0].ours
        calls.append(works[0].calls)

    say(f"equal work: right and wrong answers to {len(calls)} kinds saved by {calls} calls each")


def test_the_answers_compared_are_right_and_wrong(sat):
    """Otherwise two wrong ones would have been compared."""
    for number, (right, wrong) in sat.answers.items():
        item, seed = sat.items[number]

        correct = [mark(item, readable(item, seed, one)[0]).correct for one in (right, wrong)]

        assert correct == [True, False], item.prompt


REFUSED = {
    "known, wrong password": ("ana", "a lamp behind the bench"),
    "unknown": ("nob", "a lamp behind the bench"),
    "deactivated, right password": ("ben", PASSWORD),
    "known, longest password": ("ana", "x" * 200),
    "unknown, longest password": ("nob", "x" * 200),
}


def test_a_refused_sign_in_is_the_same_work_whether_the_name_is_known_or_not(
    furnished_shop, tmp_path, say, monkeypatch
):
    """The costly check of a password is counted as a call of its own, and happens each time.

    It is made in this thread here, since only this one is counted.
    """
    monkeypatch.setattr(Passwords, "_in_turn", lambda _self, work: work())
    shutil.copytree(furnished_shop.folder, tmp_path, dirs_exist_ok=True)
    house = reopened(tmp_path)
    with house.write() as connection:
        connection.execute(text("UPDATE person SET active = false WHERE sign_in_name = 'ben'"))
    app = create_app(house, clock=lambda: NOON, overrides={"RATELIMIT_ENABLED": False})
    app.test_client_class = FlaskClient
    works: dict[str, Work] = {}
    for who, (name, password) in [*REFUSED.items(), *REFUSED.items()]:  # the first time warms up
        client = app.test_client()
        token = token_on(client)
        address = f"198.51.100.{len(works) + 1}"  # from RFC 5737; nobody's failures add up
        works[who] = work_of(partial(refused, client, token, name, password, address))
    house.close()

    first = works["known, wrong password"]
    for who, work in works.items():
        assert work.statements == first.statements, who
        assert work.ours == first.ours, who
        assert work.bytes_sent == first.bytes_sent, who
        assert sum(n for name, n in work.others.items() if "PasswordHasher.verify" in name) == 1
    say(f"equal work: {len(works)} kinds of refused sign-in, {first.calls} calls each")


def token_on(client: FlaskClient) -> str:
    page = client.get("/sign-in").text
    return page.partition('name="csrf_token"')[2].partition('value="')[2].partition('"')[0]


def refused(client: FlaskClient, token: str, name: str, password: str, address: str) -> bytes:
    fields = {"csrf_token": token, "name": name, "password": password}
    answer = client.post("/sign-in", data=fields, environ_base={"REMOTE_ADDR": address})
    assert answer.status_code == 422, answer.text
    return b"".join(answer.data.partition(b"csrf_token")[::2]).replace(password.encode(), b"")
