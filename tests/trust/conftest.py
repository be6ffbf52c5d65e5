"""One furnished shop for all tests of trust, and everybody signed in to it."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import postgres_server
import pytest
from flask import Flask
from flask.testing import FlaskClient
from senders import Forms, forms_shown
from visitors import Visitor, visitors_of
from whole_shop import ASKED_AT, WholeShop, furnish, reopened

from quizsvc.services.house import House
from quizsvc.web.app import create_app

SEEDS_AGAIN = 8_000_000_000_000


@dataclass
class Premises:
    """The application around the furnished shop, its visitors, and the way back to the start."""

    app: Flask
    shop: WholeShop
    visitors: dict[str, Visitor]
    pristine: Path

    @property
    def database(self) -> Path:
        return self.shop.folder / "quizsvc.sqlite3"

    def put_back(self) -> None:
        """Make the database what it was when everybody had just signed in."""
        with (
            closing(sqlite3.connect(self.pristine)) as kept,
            closing(sqlite3.connect(self.database)) as live,
        ):
            kept.backup(live)

    def same_seeds_again(self) -> None:
        """Let the next items be drawn from the same seeds as the last ones."""
        surroundings = self.app.extensions["quizsvc"]
        surroundings.house.seeds = count(SEEDS_AGAIN).__next__


@dataclass
class ServedPremises(Premises):
    """The same on PostgreSQL: put back by making the database anew from a kept copy."""

    house: House
    address: str
    kept: str

    def put_back(self) -> None:
        self.house.database.writing.dispose()
        self.house.database.reading.dispose()
        postgres_server.replace_database(self.address, self.kept)


@pytest.fixture(scope="module")
def served_premises(tmp_path_factory) -> Iterator[ServedPremises]:
    folder, address = tmp_path_factory.mktemp("served"), postgres_server.new_database()
    shop = furnish(folder, address)
    house = reopened(folder, address)
    app = create_app(house, clock=lambda: ASKED_AT, overrides={"RATELIMIT_ENABLED": False})
    app.test_client_class = FlaskClient
    visitors = visitors_of(app)
    house.database.writing.dispose()
    house.database.reading.dispose()
    kept = postgres_server.new_database(copy_of=address)
    yield ServedPremises(app, shop, visitors, folder, house, address, kept)
    house.close()
    for one in (address, kept):
        postgres_server.drop_database(one)


@pytest.fixture(scope="session")
def furnished_shop(tmp_path_factory) -> WholeShop:
    return furnish(tmp_path_factory.mktemp("trust"))


@pytest.fixture(scope="module")
def premises(furnished_shop, tmp_path_factory) -> Iterator[Premises]:
    folder = tmp_path_factory.mktemp("premises")
    shutil.copytree(furnished_shop.folder, folder, dirs_exist_ok=True)
    house = reopened(folder)
    app = create_app(house, clock=lambda: ASKED_AT, overrides={"RATELIMIT_ENABLED": False})
    app.test_client_class = FlaskClient
    shop = WholeShop(folder, furnished_shop.values)
    made = Premises(app, shop, visitors_of(app), folder / "pristine.sqlite3")
    with (
        closing(sqlite3.connect(made.database)) as live,
        closing(sqlite3.connect(made.pristine)) as kept,
    ):
        live.backup(kept)
    yield made
    house.close()


@pytest.fixture(scope="session")
def forms_once() -> list[Forms]:
    return []


@pytest.fixture(scope="module")
def forms(premises, forms_once) -> Forms:
    """Return the forms that pages show; they are the same in every copy of the shop."""
    if not forms_once:
        forms_once.append(forms_shown(premises))
    return forms_once[0]
