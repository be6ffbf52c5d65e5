"""`quizsvc database upgrade` killed anywhere: the old database or the new, never between."""

from __future__ import annotations

import random
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, suppress
from hashlib import sha256
from pathlib import Path
from time import perf_counter

import postgres_server
import pytest
from sqlalchemy import Connection, create_engine, text
from upgrade_runs import KILLED, Nursery
from whole_shop import furnish, reopened

from quizsvc.services import auditing
from quizsvc.store import migrate

FIRST = "0001"
# Kills for each kind of database; how many of them at the very end, and how often one is gone on
# with to the end.
BY_STATEMENT, BY_CLOCK, LAST, EACH = 16, 8, 4, 6
KEPT = ("shop", "person", "membership", "response", "audit_entry")
PLACES = """
    SELECT table_name || '.' || column_name || ' ' || data_type || ' ' || is_nullable
    FROM information_schema.columns WHERE table_schema = 'public'
    UNION ALL SELECT conrelid::regclass || ' ' || conname || ' ' || pg_get_constraintdef(oid)
    FROM pg_constraint WHERE connamespace = 'public'::regnamespace
    UNION ALL SELECT indexdef FROM pg_indexes WHERE schemaname = 'public'
    UNION ALL SELECT tgrelid::regclass || ' ' || pg_get_triggerdef(oid) FROM pg_trigger
    WHERE NOT tgisinternal
    ORDER BY 1
"""


class OnSqlite:
    """A shop's database at the first revision, put back from a copy."""

    name = "SQLite"

    def __init__(self, folder: Path) -> None:
        self.folder, self.address = folder, ""
        furnish(folder)
        self.file, self.kept = folder / "quizsvc.sqlite3", folder / "kept.sqlite3"
        self.url = f"sqlite:///{self.file}"

    def keep(self) -> None:
        with closing(sqlite3.connect(self.file)) as live, closing(sqlite3.connect(self.kept)) as to:
            live.backup(to)

    def put_back(self) -> None:
        for beside in ("-wal", "-shm"):
            with suppress(FileNotFoundError):
                Path(f"{self.file}{beside}").unlink()
        self.file.write_bytes(self.kept.read_bytes())

    def state(self) -> str:
        """Return a fingerprint of all tables and rows, having asked SQLite whether it is whole."""
        with closing(sqlite3.connect(self.file)) as live:
            assert live.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert live.execute("PRAGMA foreign_key_check").fetchall() == []
            schema = live.execute("SELECT type, name, sql FROM sqlite_master ORDER BY 1, 2")
            parts = [repr(row) for row in schema]
            names = live.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY 1")
            for (name,) in names.fetchall():
                rows = live.execute(f"SELECT * FROM {name}").fetchall()  # noqa: S608 - own names
                parts.append(f"{name} {sorted(map(repr, rows))}")
        return fingerprint(parts)

    def drop(self) -> None:
        """Leave the files to the folder they are in."""


class OnPostgresql:
    """The same on a server; put back by making the database anew from a kept one."""

    name = "PostgreSQL"

    def __init__(self, folder: Path) -> None:
        self.folder, self.address = folder, postgres_server.new_database()
        self.url, self.kept = self.address, ""
        furnish(folder, self.address)

    def keep(self) -> None:
        self.kept = postgres_server.new_database(copy_of=self.address)

    def put_back(self) -> None:
        postgres_server.replace_database(self.address, self.kept)

    def state(self) -> str:
        engine = create_engine(self.address)
        with engine.begin() as live:
            # Waits until the killed one's transaction has ended, one way or the other.
            live.execute(text("LOCK TABLE alembic_version IN ACCESS EXCLUSIVE MODE"))
        with engine.begin() as live:
            parts = [*live.scalars(text(PLACES)), *self._rows(live)]
        engine.dispose()
        return fingerprint(parts)

    def _rows(self, live: Connection) -> Iterator[str]:
        names = "SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY 1"
        for name in live.scalars(text(names)).all():
            rows = f"SELECT t::text FROM {name} t ORDER BY 1"  # noqa: S608 - own names
            yield f"{name} {live.scalars(text(rows)).all()}"

    def drop(self) -> None:
        for one in (self.address, self.kept):
            if one:
                postgres_server.drop_database(one)


def fingerprint(parts: list[str]) -> str:
    return sha256("\n".join(parts).encode()).hexdigest()


@pytest.fixture(params=[OnSqlite, pytest.param(OnPostgresql, marks=pytest.mark.postgres)])
def old(request, tmp_path) -> Iterator[OnSqlite | OnPostgresql]:
    """Give a whole shop's database, taken down to the first tables."""
    made = request.param(tmp_path)
    house = reopened(tmp_path, made.address)
    migrate.downgrade(house.database, FIRST)
    house.close()
    made.keep()
    yield made
    made.drop()


@pytest.fixture
def nursery(old) -> Iterator[Nursery]:
    opened = Nursery(old.url, old.folder)
    yield opened
    opened.close()


def kill_points(statements: int, chance: random.Random) -> list[int]:
    """Return before which statements to kill: the first, random ones, and all of the last."""
    last = range(statements - LAST + 1, statements + 1)
    some = chance.sample(range(2, last[0]), BY_STATEMENT - LAST - 1)
    return [1, *sorted(some), *last]


def test_an_upgrade_killed_at_any_moment_leaves_the_old_or_the_new_and_runs_again(
    old, nursery, say
):
    before, begun = old.state(), perf_counter()
    assert nursery.upgrade() == 0
    took, after = perf_counter() - begun, old.state()
    chance, found = random.Random(15), Counter()
    points = kill_points(nursery.statements, chance)
    kills = [{"kill_before": point} for point in points]
    kills += [{"kill_after": chance.uniform(0, took)} for _ in range(BY_CLOCK)]

    old.put_back()
    for turn, kill in enumerate(kills):
        ended = nursery.upgrade(**kill)
        left = old.state()
        assert left in {before, after}, f"neither old nor new after {kill}"
        found["killed"] += ended == KILLED
        found["new" if left == after else "old"] += 1
        # The next one goes on with what the killed one left, or is run to its end.
        if left == after or turn % EACH == 0 or turn == len(kills) - 1:
            assert nursery.upgrade() == 0
            assert old.state() == after
            old.put_back()

    say(
        f"migrations: {found['killed']} upgrades killed on {old.name} with a whole shop inside, "
        f"{found['old']} databases left old, {found['new']} new, 0 between"
    )
    assert after != before
    assert found["killed"] >= BY_STATEMENT
    assert found["old"] >= BY_STATEMENT
    nursery.upgrade()
    assert_whole(old)


def assert_whole(old) -> None:
    house = reopened(old.folder, old.address)
    with house.read() as connection:
        for name in KEPT:
            count = f"SELECT count(*) FROM {name}"  # noqa: S608 - own names
            assert connection.scalar(text(count)), name
    assert auditing.broken_at(house) is None
    house.close()
