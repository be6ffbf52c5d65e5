"""A stocked shop with learners, and the server of `bench_server.py` started beside it."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Event
from time import monotonic

from load_client import HOST, Line, request

from quizsvc.cli.serve import THREADS, WAITING, WORKERS
from quizsvc.config import Settings
from quizsvc.rules.actors import Actor, Role
from quizsvc.services import accounts, practise
from quizsvc.services.banks import bank_files, keep_bank
from quizsvc.services.house import House
from quizsvc.services.people import NewPerson, enrol, make_shop
from quizsvc.services.sheets import keep_shipped_sheets

PASSWORD = "an invented password"
LONGEST_START = 60  # seconds


@dataclass(frozen=True)
class Learner:
    """Somebody signed in; ``cookies`` and ``csrf`` are what their browser would hold."""

    actor: Actor
    token: str
    cookies: str = ""
    csrf: str = ""


def stock_with_learners(house: House, count: int) -> list[Learner]:
    """Fill an empty house with the shipped sheets and banks and that many signed-in learners."""
    now = datetime.now(UTC)
    hashed = house.passwords.hashed(PASSWORD)
    with house.write() as connection:
        shop = make_shop(connection, "Invented", invented=True, now=now)
        keep_shipped_sheets(connection, house.settings.question_banks / "engines", now=now)
        for path in bank_files(house.settings.question_banks):
            keep_bank(connection, None, path, media=house.settings.media, shop_id=None, now=now)
        for n in range(count):
            new = NewPerson(f"Learner {n}", f"learner{n}", hashed, {Role.LEARNER})
            enrol(connection, None, shop, new, now=now)
    return [_signed_in(house, n, now) for n in range(count)]


def _signed_in(house: House, number: int, now: datetime) -> Learner:
    source = f"192.0.2.{number % 250}"
    token = accounts.sign_in(house, f"learner{number}", PASSWORD, now=now, source=source)
    return Learner(accounts.actor_for_token(house, token, now=now), token)


def offers_of_choices(house: House, learner: Learner, count: int) -> list[str]:
    """Put items to the learner until there are that many which a choice answers."""
    offers: list[str] = []
    while len(offers) < count:
        now = datetime.now(UTC)
        offer = practise.put_next(house, learner.actor, now=now)
        if practise.open_offer(house, learner.actor, offer, now=now).options:
            offers.append(offer)
    return offers


@dataclass(frozen=True)
class BenchedServer:
    port: int
    process: subprocess.Popen[bytes]

    def processes(self) -> list[int]:
        """Return every process of the server."""
        found = []
        for stat in Path("/proc").glob("[0-9]*/stat"):
            with suppress(OSError):
                group = int(stat.read_text().rpartition(")")[2].split()[2])
                if group == self.process.pid:
                    found.append(int(stat.parent.name))
        return found

    def processor_seconds(self) -> float:
        """Return the processor time its processes have taken so far."""
        ticks = 0
        for pid in self.processes():
            with suppress(OSError):
                fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
                ticks += int(fields[11]) + int(fields[12])
        return ticks / os.sysconf("SC_CLK_TCK")


@contextmanager
def served(settings: Settings) -> Iterator[BenchedServer]:
    """Serve the house's folder until the block ends, with as much of all as `quizsvc serve`."""
    with socket.socket() as trial:
        trial.bind((HOST, 0))
        port = trial.getsockname()[1]
    server = [sys.executable, "-m", "granian", "--interface", "wsgi", "--port", str(port)]
    server += ["--workers", str(WORKERS), "--no-ws"]
    server += ["--blocking-threads", str(THREADS + WAITING)]
    process = subprocess.Popen(  # noqa: S603 - our own command
        [*server, "--factory", "bench_server:application"],
        cwd=Path(__file__).parent,
        env=os.environ
        | {"QUIZSVC_INSTANCE": str(settings.instance), "DATABASE_URL": settings.database_url},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        _wait_until_it_listens(port)
        yield BenchedServer(port, process)
    finally:
        os.killpg(process.pid, signal.SIGTERM)
        process.wait()


def _wait_until_it_listens(port: int) -> None:
    until = monotonic() + LONGEST_START
    while monotonic() < until:
        with suppress(ConnectionRefusedError):
            Line(port).close()
            return
        Event().wait(0.1)
    raise AssertionError("the server never listened")


def with_a_form(learner: Learner, line: Line, port: int) -> Learner:
    """Take the form token from a page, as a browser does."""
    place = f"place={learner.token}"
    _, head, page = line.send(request("GET", "/practise/", port=port, cookies=place))
    form = re.search(rb"[Ss]et-[Cc]ookie: form=([^;]+)", head)[1].decode()
    csrf = re.search(rb'name="csrf_token"[^>]*value="([^"]+)"', page)[1].decode()
    return Learner(learner.actor, learner.token, f"{place}; form={form}", csrf)


def post(learner: Learner, path: str, port: int, **fields: str) -> bytes:
    """Return the bytes of a POST of the learner's with the form token."""
    body = "&".join(f"{k}={v}" for k, v in {"csrf_token": learner.csrf, **fields}.items())
    return request("POST", path, port=port, cookies=learner.cookies, body=body.encode())
