"""Whoever waits too long to write is told so, also behind a process that stopped."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime

import pytest
from sqlalchemy import Connection, text

from quizsvc.errors import UnavailableError
from quizsvc.store import people
from quizsvc.store.engines import open_database
from quizsvc.store.turns import FileTurn

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
SHORT, LONG = 0.2, 30.0  # seconds: what a writer here waits at most, and when a test gives up
READERS = 32  # connections to read by, at most
HOLDER = """
import sys
from sqlalchemy import text
from quizsvc.store.engines import open_database
database = open_database(sys.argv[1])
with database.write() as connection:
    connection.execute(text("UPDATE shop SET name = name || '+' WHERE name LIKE 'Held%'"))
    print("holds", flush=True)
    sys.stdin.readline()
database.close()
"""


def rename(connection: Connection) -> None:
    connection.execute(text("UPDATE shop SET name = name || '!' WHERE name LIKE 'Held%'"))


@pytest.fixture
def address(database) -> str:
    with database.write() as connection:
        people.add_shop(connection, "Held", invented=True, now=NOON)
    return database.writing.url.render_as_string(hide_password=False)


@pytest.fixture
def hurried(address):
    opened = open_database(address, turn_seconds=SHORT)
    yield opened
    opened.close()


def name_in(database) -> str:
    with database.read() as connection:
        return connection.scalar(text("SELECT name FROM shop"))


def came_back(work: Callable[[], None]) -> Exception | None:
    """Return what a piece of work ended with; fail if it does not end."""
    ended: list[Exception | None] = []

    def run() -> None:
        try:
            work()
        except Exception as error:  # noqa: BLE001 - it is what is asked for
            ended.append(error)
        else:
            ended.append(None)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(LONG)
    assert ended, "the writer still waits"
    return ended[0]


def write_once(database) -> Callable[[], None]:
    def write() -> None:
        with database.write() as connection:
            rename(connection)

    return write


@contextmanager
def stopped_holder(address: str) -> Iterator[subprocess.Popen[str]]:
    """Run a process that stops in the middle of a transaction which has written."""
    holder = subprocess.Popen(  # noqa: S603 - our own interpreter and text
        [sys.executable, "-c", HOLDER, address],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with holder:
        try:
            assert holder.stdout.readline() == "holds\n"
            os.kill(holder.pid, signal.SIGSTOP)
            yield holder
        finally:
            holder.kill()


def go_on(holder: subprocess.Popen[str]) -> None:
    os.kill(holder.pid, signal.SIGCONT)
    holder.communicate("\n")
    assert holder.returncode == 0


def test_a_writer_who_waits_too_long_for_another_thread_is_told_and_stores_nothing(
    database, hurried
):
    with database.write() as connection:
        rename(connection)
        told = came_back(write_once(hurried))

    assert isinstance(told, UnavailableError)
    assert "busy" in str(told)
    assert "again" in told.remedy
    assert name_in(database) == "Held!"
    assert came_back(write_once(hurried)) is None
    assert name_in(database) == "Held!!"


def test_a_writer_who_waits_too_long_for_a_thread_of_its_own_database_is_told(hurried):
    with hurried.write() as connection:
        rename(connection)
        told = came_back(write_once(hurried))

    assert isinstance(told, UnavailableError)
    assert name_in(hurried) == "Held!"


def test_a_process_that_stopped_while_it_wrote_holds_nobody_up_without_end(address, hurried):
    with stopped_holder(address) as holder:
        told = [came_back(write_once(hurried)) for _ in range(3)]
        read_meanwhile = name_in(hurried)
        go_on(holder)

    assert [type(one) for one in told] == [UnavailableError] * 3
    assert all("busy" in str(one) for one in told)
    assert read_meanwhile == "Held"
    assert name_in(hurried) == "Held+"


def test_those_who_share_a_transaction_behind_a_stopped_process_are_all_told(address, hurried):
    told: list[Exception | None] = []

    def ask() -> None:
        told.append(came_back(lambda: hurried.write_together(rename)))

    with stopped_holder(address):
        asking = [threading.Thread(target=ask) for _ in range(6)]
        for thread in asking:
            thread.start()
        for thread in asking:
            thread.join()

    assert [type(one) for one in told] == [UnavailableError] * 6


def test_who_gave_up_waiting_keeps_the_turn_from_nobody(address, hurried, database):
    """The turn that comes after its asker has left goes to others, here and elsewhere."""
    with stopped_holder(address) as holder:
        assert isinstance(came_back(write_once(hurried)), UnavailableError)
        go_on(holder)

    for one in (database, hurried, database):
        assert came_back(write_once(one)) is None
    assert name_in(database) == "Held+!!!"


def test_a_reader_for_whom_no_connection_is_left_is_told(hurried):
    def read() -> None:
        with hurried.read():
            pass

    with ExitStack() as held:
        for _ in range(READERS):
            held.enter_context(hurried.read())
        told = came_back(read)

    assert isinstance(told, UnavailableError)
    assert "busy" in str(told)
    assert came_back(read) is None


def test_a_turn_asked_for_by_one_who_left_is_taken_over_by_the_next_and_goes_back(tmp_path):
    ours, other = FileTurn(tmp_path / "turns"), FileTurn(tmp_path / "turns")
    taken: list[bool] = []
    assert other.take(SHORT)

    left = ours.take(SHORT)
    waiting = threading.Thread(target=lambda: taken.append(ours.take(LONG)))
    waiting.start()
    other.give_back()
    waiting.join()

    assert not left
    assert taken == [True]
    assert not other.take(SHORT)
    ours.give_back()
    assert other.take(LONG)
    for one in (ours, other):
        one.close()
