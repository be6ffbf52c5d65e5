"""A PostgreSQL server for the tests: started once when the first test asks, gone afterwards.

It runs from the system's own binaries in a temporary folder, on a socket only. Durability is
switched off: nothing in it outlives the tests. Tests that kill a server start their own.
"""

from __future__ import annotations

import atexit
import os
import shutil
import subprocess
import tempfile
from functools import cache
from itertools import count
from pathlib import Path
from threading import Event
from time import monotonic

import pytest
from sqlalchemy import create_engine, text

LEAST_MB = 400
OPTIONS = (
    "-c listen_addresses= -c fsync=off -c full_page_writes=off -c synchronous_commit=off "
    "-c max_connections=200 -c shared_buffers=32MB"
)
_numbers = count(1)


def new_database(copy_of: str = "") -> str:
    """Return the address of an empty database, or of a copy of one nobody is connected to."""
    name = f"test_{os.getpid()}_{next(_numbers)}"
    template = f' TEMPLATE "{_name(copy_of)}"' if copy_of else ""
    _run(f'CREATE DATABASE "{name}"{template}')
    return _address(name)


def drop_database(address: str) -> None:
    _run(f'DROP DATABASE "{_name(address)}" WITH (FORCE)')


def replace_database(address: str, kept: str) -> None:
    """Make a database what another is that nobody is connected to."""
    drop_database(address)
    _run(f'CREATE DATABASE "{_name(address)}" TEMPLATE "{_name(kept)}"')


class Copy:
    """A hot standby of the whole server: it follows what is written and only reads."""

    def __init__(self) -> None:
        self._primary, self._binaries = _socket_folder(), _binaries()
        self.folder = Path(tempfile.mkdtemp(prefix="quizsvc-pg-copy-", dir=self._primary.parent))
        self._as_owner = _as_owner(self.folder)
        copying = ("-h", self._primary, "-U", "postgres", "-D", self.folder / "data", "-R")
        _call(*self._as_owner, self._binaries / "pg_basebackup", *copying, "-c", "fast")
        options = f"-k {self.folder} {OPTIONS}"
        self._control("-l", self.folder / "log", "-o", options, "start")
        self._running = True

    def address_of(self, address: str) -> str:
        """Return where the copy of the database at the address is."""
        return address.replace(str(self._primary), str(self.folder))

    def catch_up(self) -> None:
        """Return once all that was written to the server by now can be read here."""
        with _admin().connect() as connection:
            written = connection.execute(text("SELECT pg_current_wal_insert_lsn()")).scalar_one()
            connection.execute(text("SELECT pg_switch_wal()"))
        asked = text("SELECT coalesce(pg_last_wal_replay_lsn() >= CAST(:written AS pg_lsn), false)")
        engine, until = create_engine(self.address_of(_address("postgres"))), monotonic() + 60
        there = False
        while not there and monotonic() < until:
            with engine.connect() as connection:
                there = connection.execute(asked, {"written": written}).scalar_one()
            Event().wait(0.02)
        engine.dispose()
        assert there, "the copy did not catch up within a minute"

    def stop(self) -> None:
        if self._running:
            self._control("-m", "immediate", "stop")
            self._running = False

    def put_away(self) -> None:
        self.stop()
        shutil.rmtree(self.folder, ignore_errors=True)

    def _control(self, *words: object) -> None:
        control = self._binaries / "pg_ctl"
        _call(*self._as_owner, control, "-D", self.folder / "data", "-w", *words)


def _name(address: str) -> str:
    return address.split("?", maxsplit=1)[0].rsplit("/", 1)[1]


def _address(database: str) -> str:
    return f"postgresql+psycopg://postgres@/{database}?host={_socket_folder()}"


def _run(statement: str) -> None:
    with _admin().connect() as connection:
        connection.execute(text(statement))


@cache
def _admin():
    engine = create_engine(_address("postgres"), isolation_level="AUTOCOMMIT")
    atexit.register(engine.dispose)
    return engine


@cache
def _socket_folder() -> Path:
    binaries = _binaries()
    # In memory where that is possible: making a database writes a thousand small files.
    memory = Path("/dev/shm")  # noqa: S108 - mkdtemp makes a folder of its own there
    place = memory if os.access(memory, os.W_OK) and _free_mb(memory) > LEAST_MB else None
    folder = Path(tempfile.mkdtemp(prefix="quizsvc-pg-", dir=place))
    data = folder / "data"
    as_owner = _as_owner(folder)
    _call(*as_owner, binaries / "initdb", "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8")
    _call(
        *as_owner,
        binaries / "pg_ctl",
        "-D",
        data,
        "-w",
        "-l",
        folder / "log",
        "-o",
        f"-k {folder} {OPTIONS}",
        "start",
    )
    atexit.register(_stop, as_owner, binaries, folder)
    return folder


def _free_mb(folder: Path) -> int:
    return shutil.disk_usage(folder).free // 1_000_000


def _stop(as_owner: list[str], binaries: Path, folder: Path) -> None:
    _call(*as_owner, binaries / "pg_ctl", "-D", folder / "data", "-m", "immediate", "stop")
    shutil.rmtree(folder, ignore_errors=True)


def _as_owner(folder: Path) -> list[str]:
    """Return what to put before a command: PostgreSQL refuses to run as root."""
    if os.geteuid() != 0:
        return []
    shutil.chown(folder, "postgres", "postgres")
    return ["runuser", "-u", "postgres", "--"]


def _binaries() -> Path:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if not found:
        pytest.skip("no PostgreSQL server is installed here")
    return found[-1].parent


def _call(*command: object) -> None:
    # Output goes nowhere: a pipe would stay open in the started server and never end.
    subprocess.run(  # noqa: S603 - our own fixed commands
        [str(part) for part in command],
        check=True,
        cwd="/",
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
