"""Databases opened the way durability asks: one engine to write, one that can only read."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from random import uniform
from time import sleep
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import OperationalError

from quizsvc.errors import UnavailableError
from quizsvc.store.failures import CollidedError, clear_errors
from quizsvc.store.together import Together
from quizsvc.store.turns import TURN_SECONDS, Turns

PRAGMAS = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",  # NORMAL lost acknowledged rows in a power-cut simulation
    "PRAGMA busy_timeout=5000",
    "PRAGMA foreign_keys=ON",
    "PRAGMA trusted_schema=OFF",
    "PRAGMA mmap_size=0",
)
_SOUND_FROM = (3, 51, 3)
_SOUND_BACKPORTS = {(3, 44): 6, (3, 50): 7}

T = TypeVar("T")
TRIES, FIRST_PAUSE = 5, 0.01  # of work that collides with others'; seconds at most
_log = logging.getLogger(__name__)


class Database:
    """A writing and a reading engine on the same database, and one on its copy for reports.

    ``turns`` is None where the server itself queues writers, by row; ``copy`` where none is kept.
    """

    def __init__(
        self, writing: Engine, reading: Engine, turns: Turns | None, copy: Engine | None = None
    ) -> None:
        self.writing = writing
        self.reading = reading
        self.turns = turns
        self.copy = copy
        self._together = Together(self.write)

    def write_together(self, work: Callable[[Connection], T]) -> T:
        """Run short work in a transaction, on SQLite shared with others at the same moment.

        The work may run several times, all but the last undone: it does nothing but read and
        write here.
        """
        if self.turns is not None:
            return self._together.run(work)
        for tried in range(TRIES - 1):
            with suppress(CollidedError), self.write() as connection:
                return work(connection)
            sleep(uniform(0, FIRST_PAUSE * 2**tried))  # so that two do not meet again
        with self.write() as connection:
            return work(connection)

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Open a transaction that may write; what it wrote is on disk when the block ends."""
        with clear_errors():
            if self.turns is None:
                with self.writing.begin() as connection:
                    yield connection
            else:
                with self.turns.turn(), self.writing.begin() as connection:
                    yield connection

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Open a transaction that sees one state of the database and cannot write."""
        with clear_errors(), self.reading.begin() as connection:
            yield connection

    @contextmanager
    def read_for_report(self) -> Iterator[Connection]:
        """Open a reading transaction on the copy, which may be seconds behind.

        Where there is none, or none that answers, on the database itself.
        """
        connection = self._connected_copy()
        if connection is None:
            with self.read() as own:
                yield own
        else:
            with clear_errors(), connection, connection.begin():
                yield connection

    def _connected_copy(self) -> Connection | None:
        if self.copy is None:
            return None
        try:
            return self.copy.connect()
        except OperationalError:
            _log.warning("the copy for reports does not answer; the database itself does instead")
            return None

    def close(self) -> None:
        for engine in (self.writing, self.reading, self.copy):
            if engine is not None:
                engine.dispose()
        if self.turns is not None:
            self.turns.close()


def open_database(url: str, *, copy_url: str = "", turn_seconds: float = TURN_SECONDS) -> Database:
    """Open the database at the address; its tables may still be missing or old.

    ``copy_url`` is that of a copy which the server keeps up to date, for reports. A writer that
    others keep waiting for more than ``turn_seconds`` is told to try again.
    """
    if make_url(url).get_backend_name() == "sqlite":
        return _open_sqlite(url, turn_seconds)
    return _open_server(url, copy_url, turn_seconds)


def sqlite_warning(version: tuple[int, int, int] = sqlite3.sqlite_version_info) -> str | None:
    """Return a warning when this SQLite is said to hold the rare WAL-reset fault, else None."""
    backport = _SOUND_BACKPORTS.get(version[:2])
    if version >= _SOUND_FROM or (backport is not None and version[2] >= backport):
        return None
    return (
        f"SQLite {'.'.join(map(str, version))} is said to hold a rare fault in resetting its "
        "write-ahead log under concurrent writers (mended in 3.51.3, 3.50.7 and 3.44.6). "
        "Keep backups; for certification use a newer SQLite or PostgreSQL."
    )


def _open_sqlite(url: str, turn_seconds: float) -> Database:
    path = make_url(url).database
    if not path or path == ":memory:":
        raise UnavailableError(
            "the database must be a file.",
            field="DATABASE_URL",
            value=url,
            remedy="Use sqlite:////absolute/path.",
        )
    _for_the_owner_only(Path(path))
    # One writing connection is enough: writers take turns.
    writing = create_engine(url, connect_args=_SQLITE_CONNECT, pool_size=1, max_overflow=0)
    reading = create_engine(
        url,
        connect_args=_SQLITE_CONNECT,
        pool_size=8,
        max_overflow=24,
        pool_timeout=turn_seconds,
    )
    event.listen(writing, "connect", _prepare_writing)
    event.listen(reading, "connect", _prepare_reading)
    event.listen(writing, "begin", _begin_immediate)
    event.listen(reading, "begin", _begin)
    return Database(writing, reading, Turns(Path(f"{path}.turns"), turn_seconds))


def _for_the_owner_only(path: Path) -> None:
    """Make the file unreadable to others before anything is in it; what SQLite adds follows it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch(mode=0o600)


def _open_server(url: str, copy_url: str, turn_seconds: float) -> Database:
    # Row locks are taken where order matters. Said here, whatever the server's own default is.
    writing = create_engine(
        url,
        pool_size=8,
        max_overflow=8,
        pool_pre_ping=True,
        pool_timeout=turn_seconds,
        isolation_level="READ COMMITTED",
    )
    event.listen(writing, "connect", partial(_wait_no_longer_than, turn_seconds))
    copy = _reading_server(copy_url, turn_seconds) if copy_url else None
    return Database(writing, _reading_server(url, turn_seconds), None, copy)


def _reading_server(url: str, turn_seconds: float) -> Engine:
    return create_engine(
        url,
        pool_size=8,
        max_overflow=24,
        pool_pre_ping=True,
        pool_timeout=turn_seconds,
        isolation_level="REPEATABLE READ",
        execution_options={"postgresql_readonly": True},
    )


def _wait_no_longer_than(seconds: float, connection: Any, _record: object) -> None:
    """Let no statement wait longer for somebody else's rows: whoever holds them may be stuck."""
    with connection.cursor() as cursor:
        cursor.execute(f"SET lock_timeout = {round(1000 * seconds)}")
    connection.commit()


# The driver must not open transactions by itself: ours begin IMMEDIATE or not at all.
_SQLITE_CONNECT: dict[str, Any] = {"isolation_level": None, "timeout": 5.0}


def _prepare_writing(connection: sqlite3.Connection, _record: object) -> None:
    for pragma in PRAGMAS:
        connection.execute(pragma)


def _prepare_reading(connection: sqlite3.Connection, _record: object) -> None:
    _prepare_writing(connection, _record)
    connection.execute("PRAGMA query_only=ON")


def _begin_immediate(connection: Connection) -> None:
    # A deferred read-then-write fails at once with BUSY_SNAPSHOT, whatever the timeout.
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN")
