"""Writers at the same moment share a transaction; none hears of success before it is on disk."""

from __future__ import annotations

import threading
from contextlib import contextmanager
from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from quizsvc.errors import UnavailableError
from quizsvc.store import people, together
from quizsvc.store.together import Together

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def add(name: str):
    return lambda connection: people.add_shop(connection, name, invented=True, now=NOON)


def fail(_connection):
    raise ValueError("this piece of work is faulty")


def names(database) -> set[str]:
    with database.read() as connection:
        return set(connection.scalars(text("SELECT name FROM shop")))


class Watched:
    """Counts transactions, and holds the first one until it is let go."""

    def __init__(self, database) -> None:
        self.database = database
        self.transactions = 0
        self.begun, self.let_go = threading.Event(), threading.Event()

    @contextmanager
    def write(self):
        self.transactions += 1
        first = self.transactions == 1
        with self.database.write() as connection:
            yield connection
            if first:
                self.begun.set()
                assert self.let_go.wait(10)


@pytest.fixture
def watched(database):
    return Watched(database)


def start(group: Together, *works) -> tuple[list[threading.Thread], dict[int, object]]:
    """Start each piece of work in a thread of its own, one after the other; note what comes."""
    outcomes: dict[int, object] = {}

    def run(number: int, work) -> None:
        try:
            outcomes[number] = group.run(work)
        except Exception as failure:  # noqa: BLE001 - the test looks at it
            outcomes[number] = failure

    threads = []
    for number, work in enumerate(works):
        before = len(group._waiting)
        threads.append(threading.Thread(target=run, args=(number, work)))
        threads[-1].start()
        while number and len(group._waiting) == before and threads[-1].is_alive():
            threading.Event().wait(0.001)
    return threads, outcomes


def gather(watched: Watched, *works) -> dict[int, object]:
    """Hold a first transaction while the works gather, then let all of it go."""
    group = Together(watched.write)
    leader, _ = start(group, add("first"))
    assert watched.begun.wait(10)
    waiting = []
    outcomes: dict[int, object] = {}
    for number, work in enumerate(works):
        threads, one = start(group, work)
        while len(group._waiting) <= number:
            threading.Event().wait(0.001)
        waiting.append((threads[0], one, number))
    watched.let_go.set()
    for thread, one, number in waiting:
        thread.join(10)
        outcomes[number] = one[0]
    leader[0].join(10)
    return outcomes


def test_one_alone_gets_its_own_transaction_and_result(database):
    key = Together(database.write).run(add("alone"))

    assert key == 1
    assert names(database) == {"alone"}


def test_those_who_wait_share_one_transaction_in_the_order_in_which_they_came(watched, database):
    outcomes = gather(watched, *(add(f"shop {n}") for n in range(5)))

    assert watched.transactions == 2
    assert [outcomes[n] for n in range(5)] == [2, 3, 4, 5, 6]
    assert len(names(database)) == 6


def test_one_that_fails_spoils_nothing_for_the_others(watched, database):
    outcomes = gather(watched, add("before"), fail, add("after"))

    assert isinstance(outcomes[1], ValueError)
    assert names(database) == {"first", "before", "after"}
    with database.read() as connection:
        for number in (0, 2):
            assert (
                connection.execute(
                    text("SELECT count(*) FROM shop WHERE id = :id"), {"id": outcomes[number]}
                ).scalar_one()
                == 1
            )


def test_a_failure_of_the_leader_does_not_stop_those_behind_it(watched, database):
    watched.let_go.set()
    group = Together(watched.write)

    with pytest.raises(ValueError, match="faulty"):
        group.run(fail)

    assert group.run(add("next"))
    assert names(database) == {"next"}


def test_a_commit_that_fails_is_a_success_for_nobody(database):
    @contextmanager
    def full_disk():
        with database.write() as connection:
            yield connection
            raise UnavailableError("the disk could not take it; nothing was stored.")

    with pytest.raises(UnavailableError, match="nothing was stored"):
        Together(full_disk).run(add("lost"))

    assert names(database) == set()


def test_whoever_waits_too_long_is_told_that_nothing_was_stored(watched, database, monkeypatch):
    monkeypatch.setattr(together, "WAIT_SECONDS", 0.05)
    group = Together(watched.write)
    leader, _ = start(group, add("first"))
    assert watched.begun.wait(10)

    with pytest.raises(UnavailableError, match="busy"):
        group.run(add("late"))

    watched.let_go.set()
    leader[0].join(10)
    assert names(database) == {"first"}


def test_hundreds_of_writers_each_get_their_own_result_exactly_once(database):
    group = Together(database.write)
    results: dict[str, int] = {}

    def work(number: int) -> None:
        for n in range(20):
            name = f"{number}/{n}"
            results[name] = group.run(add(name))

    threads = [threading.Thread(target=work, args=(n,)) for n in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    with database.read() as connection:
        stored = {row.name: row.id for row in connection.execute(text("SELECT name, id FROM shop"))}
    assert stored == results
    assert len(stored) == 320
