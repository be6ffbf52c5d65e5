"""Work that collides with others' on a server is done again; nobody sees it."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import postgres_server
import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from quizsvc.errors import UnavailableError
from quizsvc.store.engines import TRIES, open_database

pytestmark = pytest.mark.postgres
PATIENCE = 60


@pytest.fixture
def database():
    address = postgres_server.new_database()
    opened = open_database(address)
    with opened.write() as connection:
        connection.execute(text("CREATE TABLE part (id INTEGER PRIMARY KEY, count INTEGER)"))
        connection.execute(text("INSERT INTO part VALUES (1, 0), (2, 0)"))
    yield opened
    opened.close()
    postgres_server.drop_database(address)


def add_one(connection, part):
    connection.execute(text("UPDATE part SET count = count + 1 WHERE id = :id"), {"id": part})


def counts(database):
    with database.read() as connection:
        return tuple(connection.scalars(text("SELECT count FROM part ORDER BY id")))


def test_two_who_lock_each_other_out_both_get_their_work_done(database):
    first_time = Barrier(2)
    runs = []

    def cross(one, other):
        def work(connection):
            runs.append(one)
            add_one(connection, one)
            if runs.count(one) == 1:
                first_time.wait(PATIENCE)  # both hold their first row: now neither can go on
            add_one(connection, other)

        database.write_together(work)

    with ThreadPoolExecutor(2) as threads:
        for done in [threads.submit(cross, 1, 2), threads.submit(cross, 2, 1)]:
            done.result(PATIENCE)

    assert counts(database) == (2, 2)
    assert len(runs) > 2  # the server chose one to be undone; it ran again


@pytest.mark.parametrize("code", ["40001", "40P01"])
def test_work_undone_by_the_server_is_done_again(database, code):
    runs = []

    def work(connection):
        runs.append(code)
        add_one(connection, 1)
        if len(runs) < TRIES:
            collide(connection, code)

    database.write_together(work)

    assert len(runs) == TRIES
    assert counts(database) == (1, 0)


def test_work_that_collides_every_time_is_refused_in_the_end_and_nothing_is_stored(database):
    def work(connection):
        add_one(connection, 1)
        collide(connection, "40001")

    with pytest.raises(UnavailableError, match="others changed the same") as refusal:
        database.write_together(work)

    assert refusal.value.remedy == "Send again in a moment."
    assert counts(database) == (0, 0)


def test_work_that_is_wrong_is_not_tried_again(database):
    runs = []

    def work(connection):
        runs.append(1)
        collide(connection, "23505")  # a key that is there already

    with pytest.raises(DBAPIError):
        database.write_together(work)

    assert len(runs) == 1


def test_writing_goes_by_row_locks_whatever_the_servers_own_default(database):
    with database.write() as connection:
        level = connection.execute(text("SHOW transaction_isolation")).scalar_one()

    assert level == "read committed"


def collide(connection, code):
    """Let the server raise an error with this code, as it would for a real collision."""
    connection.execute(
        text(f"DO $$ BEGIN RAISE EXCEPTION 'invented' USING ERRCODE = '{code}'; END $$")
    )
