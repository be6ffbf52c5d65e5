"""Every use case runs on SQLite and on PostgreSQL, each in a copy of one stocked database."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import postgres_server
import pytest
from certifying import Crew, make_crew
from classroom import BLANK, Room, give_out, make_room
from workshop import Workshop, open_house, stock

from quizsvc.rules.actors import Actor

ENGINES = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)]


@pytest.fixture(params=ENGINES)
def empty_database(request, tmp_path) -> Iterator[str]:
    """Give the address of a database without tables."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'empty.sqlite3'}"
    else:
        address = postgres_server.new_database()
        yield address
        postgres_server.drop_database(address)


@pytest.fixture(params=ENGINES)
def workshop(request, tmp_path) -> Iterator[Workshop]:
    original, shop_id, people = _stocked(request.param)
    if request.param == "sqlite":
        address = f"sqlite:///{shutil.copy(original, tmp_path / 'quizsvc.sqlite3')}"
    else:
        address = postgres_server.new_database(copy_of=original)
    opened = Workshop(open_house(address, tmp_path), shop_id, people)
    yield opened
    opened.house.close()
    if request.param == "postgresql":
        postgres_server.drop_database(address)


@cache
def _stocked(engine: str) -> tuple[str, int, dict[str, Actor]]:
    """Stock one database per engine and test run; return it with what is in it."""
    folder = _folder()
    file = folder / "stocked.sqlite3"
    address = f"sqlite:///{file}" if engine == "sqlite" else postgres_server.new_database()
    house = open_house(address, folder, upgrade=True)
    shop_id, people = stock(house, folder)
    house.close()
    return str(file) if engine == "sqlite" else address, shop_id, people


@cache
def _folder() -> Path:
    return Path(_temporary().name)


@cache
def _temporary() -> TemporaryDirectory:
    return TemporaryDirectory(prefix="quizsvc-stocked-", ignore_cleanup_errors=True)


@pytest.fixture
def house(workshop):
    return workshop.house


@pytest.fixture
def ana(workshop):
    return workshop.people["ana"]


@pytest.fixture
def ben(workshop):
    return workshop.people["ben"]


@pytest.fixture
def ida(workshop):
    return workshop.people["ida"]


@pytest.fixture
def max_(workshop):
    return workshop.people["max"]


@pytest.fixture
def crew(workshop) -> Crew:
    return make_crew(workshop)


@pytest.fixture
def room(workshop) -> Room:
    return make_room(workshop)


@pytest.fixture
def test_id(room) -> int:
    """A timed test that is given out to the room's class."""
    return give_out(room, BLANK["test"])
