"""A durable answer against a POST that does nothing, on the same server in the same run.

`pytest tests/benchmarks/test_bench_answers.py -s` prints the figures. Blocks of both kinds
alternate, so that whatever else the machine does meets both; only their ratio means anything.
"""

from __future__ import annotations

import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from threading import Event
from time import monotonic, perf_counter

import pytest
from load_client import HOST, Line, Phase, request, run_phase
from sqlalchemy import text

from quizsvc.config import settings_from
from quizsvc.rules.actors import Actor, Role
from quizsvc.services import accounts, practise
from quizsvc.services.banks import bank_files, keep_bank
from quizsvc.services.house import House
from quizsvc.services.people import NewPerson, enrol, make_shop
from quizsvc.services.sheets import keep_shipped_sheets
from quizsvc.store.engines import PRAGMAS

LEARNERS = 16  # each on a connection of their own, as many as ask at the same moment
BLOCKS = 12
ANSWERS = 10  # per learner and block
AIM = 0.36
PASSWORD = "an invented password"

pytestmark = pytest.mark.benchmark


@dataclass
class Learner:
    actor: Actor
    token: str
    offers: list[str]


@pytest.fixture(scope="module")
def settings(tmp_path_factory):
    return settings_from({"QUIZSVC_INSTANCE": str(tmp_path_factory.mktemp("bench"))})


@pytest.fixture(scope="module")
def house(settings):
    opened = House.open(settings, upgrade=True)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def learners(house, settings) -> list[Learner]:
    now = datetime.now(UTC)
    hashed = house.passwords.hashed(PASSWORD)
    with house.write() as connection:
        shop = make_shop(connection, "Invented", invented=True, now=now)
        keep_shipped_sheets(connection, settings.question_banks / "engines", now=now)
        for path in bank_files(settings.question_banks):
            keep_bank(connection, None, path, media=settings.media, shop_id=None, now=now)
        for n in range(LEARNERS):
            new = NewPerson(f"Learner {n}", f"learner{n}", hashed, {Role.LEARNER})
            enrol(connection, None, shop, new, now=now)
    return [_learner(house, n, now) for n in range(LEARNERS)]


def _learner(house: House, number: int, now: datetime) -> Learner:
    token = accounts.sign_in(house, f"learner{number}", PASSWORD, now=now, source="192.0.2.1")
    actor = accounts.actor_for_token(house, token, now=now)
    offers: list[str] = []
    while len(offers) < BLOCKS * ANSWERS:
        offer = practise.put_next(house, actor, now=now)
        if practise.open_offer(house, actor, offer, now=now).options:
            offers.append(offer)
    return Learner(actor, token, offers)


@pytest.fixture(scope="module")
def port(settings, learners):
    assert learners
    with socket.socket() as trial:
        trial.bind((HOST, 0))
        free = trial.getsockname()[1]
    server = [sys.executable, "-m", "granian", "--interface", "wsgi", "--port", str(free)]
    server += ["--workers", "2", "--blocking-threads", "4", "--no-ws", "--factory"]
    process = subprocess.Popen(  # noqa: S603 - our own command
        [*server, "bench_server:application"],
        cwd=Path(__file__).parent,
        env=os.environ | {"QUIZSVC_INSTANCE": str(settings.instance)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    _wait_until_it_listens(free)
    yield free
    os.killpg(process.pid, signal.SIGTERM)
    process.wait()


def _wait_until_it_listens(port: int) -> None:
    until = monotonic() + 30
    while monotonic() < until:
        with suppress(ConnectionRefusedError):
            Line(port).close()
            return
        Event().wait(0.1)
    raise AssertionError("the server never listened")


@dataclass
class Ready:
    """What a learner sends, ready made: answers, and POSTs that only pass the gate."""

    answers: list[bytes]
    gate: bytes


def _ready(learner: Learner, line: Line, port: int) -> Ready:
    """Make the learner's requests: choice 1, with the form token of a page."""
    place = f"place={learner.token}"
    path = f"/practise/items/{learner.offers[0]}"
    _, head, page = line.send(request("GET", path, port=port, cookies=place))
    form = re.search(rb"[Ss]et-[Cc]ookie: form=([^;]+)", head)[1].decode()
    csrf = re.search(rb'name="csrf_token"[^>]*value="([^"]+)"', page)[1].decode()
    body = f"csrf_token={csrf}&choice=1".encode()
    cookies = f"{place}; form={form}"

    def post(path: str) -> bytes:
        return request("POST", path, port=port, cookies=cookies, body=body)

    return Ready([post(f"/practise/items/{offer}") for offer in learner.offers], post("/gate"))


def test_a_durable_answer_against_posts_that_do_nothing(learners, port, house):
    lines = [Line(port) for _ in learners]
    ready = [_ready(one, line, port) for one, line in zip(learners, lines, strict=True)]
    nothing = [[request("POST", "/nothing", port=port)] * ANSWERS] * len(lines)
    gates = [[one.gate] * ANSWERS for one in ready]
    run_phase(lines, nothing, 204)  # warms up

    rounds: list[tuple[Phase, Phase, Phase]] = []
    for block in range(BLOCKS):
        own = slice(block * ANSWERS, (block + 1) * ANSWERS)
        rounds.append(
            (
                run_phase(lines, nothing, 204),
                run_phase(lines, gates, 200),
                run_phase(lines, [one.answers[own] for one in ready], 302),
            )
        )

    for line in lines:
        line.close()
    commit = _raw_commit_ms(house.settings.instance)
    to_gate = _report(rounds, commit)
    with house.read() as connection:
        stored = connection.execute(text("SELECT count(*) FROM response")).scalar_one()
    assert stored == LEARNERS * ANSWERS * BLOCKS  # every acknowledged answer is there, once
    assert to_gate > AIM / 3  # far below the aim something is broken, whatever the machine does


def _report(rounds: list[tuple[Phase, Phase, Phase]], commit_ms: float) -> float:
    """Print the figures; return answers per POST that passes the gate."""
    nothing, gate, answer = (_together(phases) for phases in zip(*rounds, strict=True))
    to_nothing = median(a.per_second / n.per_second for n, _, a in rounds)
    to_gate = median(a.per_second / g.per_second for _, g, a in rounds)
    print(  # noqa: T201 - a benchmark prints
        f"\nPOST that does nothing:         {nothing.per_second:.0f}/s over {LEARNERS} connections"
        f"\nsame, behind sign-in and form:  {gate.per_second:.0f}/s"
        f"\ndurable answer:                 {answer.per_second:.0f}/s, "
        f"p50 {answer.share(0.5) * 1e3:.1f} ms, p99 {answer.share(0.99) * 1e3:.1f} ms, "
        f"p99/p50 {answer.share(0.99) / answer.share(0.5):.1f} (aim at most 3)"
        f"\nanswer / nothing:               {to_nothing:.2f} (aim {AIM})"
        f"\nanswer / behind the same gate:  {to_gate:.2f}"
        f"\nraw insert and commit:          p50 {commit_ms:.2f} ms, nothing else running"
    )
    return to_gate


def _together(phases: Sequence[Phase]) -> Phase:
    return Phase(sum(p.seconds for p in phases), [time for p in phases for time in p.each])


def _raw_commit_ms(folder: Path) -> float:
    """Return the median time of a bare row made durable on the same disk, in milliseconds."""
    connection = sqlite3.connect(folder / "raw.sqlite3", isolation_level=None)
    for pragma in PRAGMAS:
        connection.execute(pragma)
    connection.execute("CREATE TABLE row (x INTEGER)")
    times = []
    for n in range(200):
        begun = perf_counter()
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("INSERT INTO row VALUES (?)", (n,))
        connection.execute("COMMIT")
        times.append(perf_counter() - begun)
    connection.close()
    return median(times) * 1e3
