"""A class that sits a long test over real connections, and remembers what it was told."""

from __future__ import annotations

import random
import re
import secrets
import threading
from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlencode

from benchmarks.load_client import Line, request
from workshop import hashed_password, stock

from quizsvc.config import settings_from
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.assignments import Feedback, Form, Terms
from quizsvc.services import accounts
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.house import House
from quizsvc.services.people import NewPerson, enrol
from quizsvc.services.sitting import beginning
from quizsvc.services.steady import steady_now
from quizsvc.store import classes
from quizsvc.store.classes import Part

QUESTIONS = 10
PASSWORD = "a lamp beside the bench"
PAUSE = 0.4  # seconds between two answers of one person, about: far more than anybody does


@dataclass
class Class:
    house: House
    ida: Actor
    test: int
    learners: list[Actor]
    tokens: dict[int, str]  # of sessions, by person
    sittings: dict[int, str]  # by person


def open_class(instance: Path, size: int, **environment: str) -> Class:
    """Make a shop with a class, every learner signed in and sitting one long test."""
    house = House.open(
        settings_from({"QUIZSVC_INSTANCE": str(instance), **environment}), upgrade=True
    )
    shop_id, people = stock(house, instance)
    now = datetime.now(UTC)
    ida = people["ida"]
    with house.write() as connection:
        room = classes.add_class(connection, shop_id, "Group A", now=now)
        classes.add_member(connection, room, ida.person_id, Part.INSTRUCTOR, now=now)
        learners = []
        for number in range(size):
            new = NewPerson(f"L{number}", f"l{number}", hashed_password(), {Role.LEARNER})
            person = enrol(connection, None, shop_id, new, now=now)
            classes.add_member(connection, room, person, Part.LEARNER, now=now)
            learners.append(Actor(person, f"L{number}", shop_id, frozenset({Role.LEARNER})))
    test = _give_test(house, ida, room, now)
    made = Class(house, ida, test, learners, {}, {})
    for number, one in enumerate(learners):
        source = f"192.0.2.{number % 250}"
        token = accounts.sign_in(house, f"l{number}", PASSWORD, now=now, source=source)
        made.tokens[one.person_id] = token
        made.sittings[one.person_id] = beginning.begin(
            house, one, test, place=token, now=steady_now(house)
        )
    return made


def _give_test(house: House, ida: Actor, room: int, now: datetime) -> int:
    opens = now - timedelta(minutes=1)
    terms = Terms(
        "A long test", Form.TIMED_TEST, opens, None, minutes=600, feedback=Feedback.ON_RELEASE
    )
    test = drafting.draft(house, ida, terms, Audience(room), now=now)
    for _ in range(QUESTIONS):
        fields = {"family_id": "next-to-fire", "sheet": "demo-inline-four", "level": None}
        questions.add_family(house, ida, test, **fields)
    giving_out.issue(house, ida, test, now=now)
    return test


@dataclass
class Sent:
    """An answer on its way; it keeps its key until the server has said that it is saved."""

    number: int
    sequence: int
    choice: str
    key: str


@dataclass
class Sitter(threading.Thread):
    """One person who answers questions of their test, again and again, until told to stop."""

    person: int
    place: str  # the session's token
    sitting: str
    ports: Sequence[int]
    seed: int
    acknowledged: dict[int, Sent] = field(default_factory=dict)
    sent: dict[tuple[int, int], Sent] = field(default_factory=dict)
    waiting: Sent | None = None
    answers: int = 0
    cut_off: int = 0
    statuses: Counter[int] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(name=f"sitter-{self.person}", daemon=True)
        self._ended, self._finishing = threading.Event(), threading.Event()
        self._chance = random.Random(self.seed)
        self._line: Line | None = None
        self._cookies, self._csrf, self._turn = f"place={self.place}", "", self.seed

    def __hash__(self) -> int:
        return id(self)

    def finish(self) -> None:
        """Send what is on its way once more until it is acknowledged, then end."""
        self._finishing.set()

    def end(self) -> None:
        self._ended.set()

    def run(self) -> None:
        try:
            self._answer_until_told_to_stop()
        finally:
            self._hang_up()

    def _answer_until_told_to_stop(self) -> None:
        while not self._ended.is_set():
            if self.waiting is None and self._finishing.is_set():
                return
            try:
                self._step()
            except OSError:
                self.cut_off += self._line is not None  # else nobody listens yet
                self._hang_up()
                self._ended.wait(0.2)
            except Exception as trouble:  # noqa: BLE001 - shown by the test
                self.wrong.append(repr(trouble))
                return

    def _step(self) -> None:
        if not self._csrf:
            self._read_a_page()
            return
        if self.waiting is None:
            self.waiting = self._next()
            self.sent[self.waiting.number, self.waiting.sequence] = self.waiting
        status, body = self._save(self.waiting)
        self.statuses[status] += 1
        if status == 200 and b'"saved":true' in body:
            self.acknowledged[self.waiting.number] = self.waiting
            self.answers += 1
            self.waiting = None
        elif status not in {429, 503}:
            self.wrong.append(f"{status} {body[:300]!r}")
            self._ended.set()
        self._ended.wait(self._chance.uniform(0.5, 1.5) * PAUSE)

    def _next(self) -> Sent:
        number = self._chance.randint(1, QUESTIONS)
        last = self.acknowledged.get(number)
        choice = str(self._chance.randint(1, 3))
        return Sent(number, last.sequence + 1 if last else 1, choice, secrets.token_hex(16))

    def _save(self, sent: Sent) -> tuple[int, bytes]:
        body = urlencode(
            {
                "csrf_token": self._csrf,
                "choice": sent.choice,
                "number": sent.choice,
                "sequence": sent.sequence,
                "key": sent.key,
            }
        ).encode()
        path = f"/classroom/sittings/{self.sitting}/{sent.number}"
        status, _, said = self._send("POST", path, body)
        return status, said

    def _read_a_page(self) -> None:
        """Take the form token from a page, as a browser does before the first answer."""
        status, head, page = self._send("GET", f"/classroom/sittings/{self.sitting}/1", b"")
        self.statuses[status] += 1
        form = re.search(rb"[Ss]et-[Cc]ookie: form=([^;]+)", head)
        token = re.search(rb'name="csrf_token"[^>]*value="([^"]+)"', page)
        if status == 200 and form and token:
            self._cookies = f"place={self.place}; form={form[1].decode()}"
            self._csrf = token[1].decode()

    def _send(self, method: str, path: str, body: bytes) -> tuple[int, bytes, bytes]:
        if self._line is None:
            self._turn += 1
            self._port = self.ports[self._turn % len(self.ports)]
            self._line = Line(self._port)
            self._line.socket.settimeout(30)
        bare = request(method, path, port=self._port, cookies=self._cookies, body=body)
        asked = bare.replace(b"\r\n", b"\r\nAccept: application/json\r\n", 1)
        return self._line.send(asked if method == "POST" else bare)

    def _hang_up(self) -> None:
        if self._line is not None:
            with suppress(OSError):
                self._line.close()
        self._line = None


def sitters_of(made: Class, ports: Sequence[int]) -> list[Sitter]:
    return [
        Sitter(key, made.tokens[key], made.sittings[key], ports, seed)
        for seed, key in enumerate(made.tokens)
    ]
