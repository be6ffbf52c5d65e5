"""Databases are opened the way durability asks, and writers take turns."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError, IntegrityError

from quizsvc.errors import UnavailableError
from quizsvc.store import migrate, people
from quizsvc.store.engines import open_database, sqlite_warning

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


@pytest.fixture
def file(tmp_path) -> Path:
    return tmp_path / "quizsvc.sqlite3"


@pytest.fixture
def sqlite_database(file):
    opened = open_database(f"sqlite:///{file}")
    migrate.upgrade(opened)
    yield opened
    opened.close()


@pytest.mark.parametrize(
    ("pragma", "value"),
    [
        ("journal_mode", "wal"),
        ("synchronous", 2),  # FULL
        ("busy_timeout", 5000),
        ("foreign_keys", 1),
        ("trusted_schema", 0),
        ("mmap_size", 0),
    ],
)
def test_both_connections_carry_the_settings_durability_asks(sqlite_database, pragma, value):
    for opened in (sqlite_database.write, sqlite_database.read):
        with opened() as connection:
            found = connection.exec_driver_sql(f"PRAGMA {pragma}").scalar()
            assert found == value or (pragma == "mmap_size" and found is None)


def test_the_reading_connection_cannot_write(database):
    with pytest.raises((UnavailableError, DBAPIError)), database.read() as connection:
        people.add_shop(connection, "Invented", invented=True, now=NOON)

    with database.read() as connection:
        assert people.find_shop(connection, "Invented") is None


def test_a_writing_transaction_holds_the_write_lock_from_its_first_moment(sqlite_database, file):
    with sqlite_database.write():
        other = sqlite3.connect(file, timeout=0)
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
        other.close()


def test_a_block_that_fails_leaves_nothing_behind(database):
    def fail() -> None:
        with database.write() as connection:
            people.add_shop(connection, "Invented", invented=True, now=NOON)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()

    with database.read() as connection:
        assert people.find_shop(connection, "Invented") is None


def test_a_reading_block_sees_one_state_whatever_is_written_meanwhile(database):
    with database.read() as reading:
        assert people.find_shop(reading, "Invented") is None
        with database.write() as writing:
            people.add_shop(writing, "Invented", invented=True, now=NOON)

        assert people.find_shop(reading, "Invented") is None


def test_many_threads_write_without_a_single_failure(database):
    failures = []

    def write(number: int) -> None:
        try:
            for n in range(10):
                with database.write() as connection:
                    people.add_shop(connection, f"{number}/{n}", invented=True, now=NOON)
        except Exception as failure:  # noqa: BLE001 - shown below
            failures.append(failure)

    threads = [threading.Thread(target=write, args=(n,)) for n in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert not failures
    with database.read() as connection:
        assert connection.execute(text("SELECT count(*) FROM shop")).scalar_one() == 120


WRITER = """
import sys
from datetime import UTC, datetime
from quizsvc.store import people
from quizsvc.store.engines import open_database
database = open_database(sys.argv[1])
for n in range(40):
    with database.write() as connection:
        name = f"{sys.argv[2]}/{n}"
        people.add_shop(connection, name, invented=True, now=datetime(2026, 3, 2, tzinfo=UTC))
"""


def test_several_processes_write_without_a_single_failure(sqlite_database, file):
    running = [
        subprocess.Popen(  # noqa: S603 - our own interpreter and text
            [sys.executable, "-c", WRITER, f"sqlite:///{file}", str(n)],
            stderr=subprocess.PIPE,
            text=True,
        )
        for n in range(3)
    ]
    said = [process.communicate()[1] for process in running]

    assert said == ["", "", ""]
    with sqlite_database.read() as connection:
        assert connection.execute(text("SELECT count(*) FROM shop")).scalar_one() == 120
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"


def test_a_database_of_personal_data_is_for_its_owner_only(sqlite_database, file):
    with sqlite_database.read():
        modes = {path.stat().st_mode & 0o077 for path in file.parent.iterdir()}

    assert modes == {0}


def test_missing_tables_are_said_clearly_with_the_remedy(empty):
    with pytest.raises(UnavailableError, match="quizsvc database upgrade"), empty.read() as reading:
        people.find_shop(reading, "Invented")


def test_a_full_disk_is_said_clearly(sqlite_database):
    with sqlite_database.write() as connection:
        connection.execute(text("CREATE TABLE big (x BLOB)"))
        connection.exec_driver_sql("PRAGMA max_page_count = 1")  # SQLite raises it to the used

    with pytest.raises(UnavailableError, match="disk"), sqlite_database.write() as connection:
        connection.execute(text("INSERT INTO big VALUES (zeroblob(10000000))"))


def test_a_server_that_is_not_there_is_said_clearly():
    database = open_database("postgresql+psycopg://nobody@/none?host=/nonexistent")

    with pytest.raises(UnavailableError, match="could not do it"), database.read():
        pass
    database.close()


@pytest.mark.parametrize("address", ["sqlite://", "sqlite:///:memory:"])
def test_a_database_in_memory_is_refused(address):
    with pytest.raises(UnavailableError, match="must be a file"):
        open_database(address)


@pytest.mark.parametrize(
    ("version", "warned"),
    [
        ((3, 40, 1), True),
        ((3, 44, 5), True),
        ((3, 44, 6), False),
        ((3, 50, 6), True),
        ((3, 50, 7), False),
        ((3, 51, 2), True),
        ((3, 51, 3), False),
        ((3, 52, 0), False),
    ],
)
def test_sqlite_versions_said_to_hold_the_reset_fault_are_warned_of(version, warned):
    assert bool(sqlite_warning(version)) is warned


def test_times_come_back_in_utc_whatever_zone_they_were_given_in(database):
    berlin = timezone(timedelta(hours=2))
    with database.write() as connection:
        people.add_shop(connection, "I", invented=True, now=datetime(2026, 7, 1, 14, tzinfo=berlin))

    with database.read() as connection:
        stored = connection.execute(people.select(people.Shop.made_at)).scalar_one()

    assert stored == datetime(2026, 7, 1, 12, tzinfo=UTC)
    assert stored.utcoffset() == timedelta(0)


def test_a_time_without_a_zone_is_refused(database):
    with pytest.raises(Exception, match="needs a zone"), database.write() as connection:
        people.add_shop(connection, "I", invented=True, now=datetime(2026, 7, 1))  # noqa: DTZ001


def test_the_database_itself_refuses_an_unknown_role(database):
    with database.write() as connection:
        shop = people.add_shop(connection, "Invented", invented=True, now=NOON)
        person = people.add_person(
            connection, "Ana", sign_in_name="ana", password_hash=None, now=NOON
        )
    with pytest.raises(IntegrityError, match="known_role"), database.write() as connection:
        connection.execute(
            people.insert(people.Membership).values(
                person_id=person, shop_id=shop, role="owner", since=NOON
            )
        )
