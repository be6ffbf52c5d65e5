"""The worker beside the server does what stands in the job table, and goes on after a failure."""

import sys
import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent / "services"))
from workshop import open_house, stock

from quizsvc import jobs
from quizsvc.errors import UnavailableError
from quizsvc.services import background

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
PATIENCE = 30  # seconds; a busy machine needs some


@pytest.fixture
def house(tmp_path):
    opened = open_house(f"sqlite:///{tmp_path / 'q.sqlite3'}", tmp_path, upgrade=True)
    yield opened
    opened.close()


@pytest.fixture
def person(house, tmp_path):
    return stock(house, tmp_path)[1]["ida"]


def test_every_kind_of_work_is_known_to_the_worker():
    assert {"bank report", "bank import", "mark again"} <= background.KINDS.keys()


def test_a_worker_does_jobs_in_turn_each_once_though_two_work(house, person, monkeypatch):
    did, all_done = [], threading.Event()

    def work(job):
        did.append(job.payload)
        if len(did) == 6:
            all_done.set()
        return ""

    monkeypatch.setitem(background.KINDS, "counted", work)
    for number in range(6):
        background.ask_for(house, person, "counted", str(number), now=NOW)
    workers = [jobs.Worker(house, pause=0.01).start() for _ in range(2)]

    assert all_done.wait(PATIENCE)
    for worker in workers:
        worker.stop()
    assert sorted(did) == ["0", "1", "2", "3", "4", "5"]


def test_chores_are_done_at_every_look_and_trouble_ends_no_worker(house):
    looks, enough = [], threading.Event()

    def chore(_house, _now):
        looks.append(1)
        if len(looks) >= 3:
            enough.set()
        raise UnavailableError("the database is busy.") if len(looks) == 1 else RuntimeError

    worker = jobs.Worker(house, chores=[chore], pause=0.01).start()

    assert enough.wait(PATIENCE)
    worker.stop()
