"""A house with an invented shop, one person per role, the shipped engines and one bank.

``QUIZSVC_TEST_DATABASE=postgresql`` puts every such house into a PostgreSQL database, SQLite is
used otherwise. CI runs the tests of the web once with each.
"""

from __future__ import annotations

import os
import shutil
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

import postgres_server

from quizsvc.config import Settings
from quizsvc.rules.actors import Role
from quizsvc.services.banks import keep_bank
from quizsvc.services.house import House
from quizsvc.services.people import NewPerson, enrol, make_shop
from quizsvc.services.sheets import keep_shipped_sheets

HERE = Path(__file__).parent
BANK = HERE / "bank-of-every-kind.toml"
START = datetime(2025, 3, 3, 8, 0, tzinfo=UTC)
_on_the_server: dict[Path, str] = {}
PASSWORD = "four words of invention"
PEOPLE = {
    "lea": Role.LEARNER,
    "tom": Role.LEARNER,
    "ivo": Role.INSTRUCTOR,
    "mia": Role.MANAGER,
    "isa": Role.INSTRUCTOR,
}


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self, start: datetime = START) -> None:
        self.time = start

    def __call__(self) -> datetime:
        return self.time

    def pass_time(self, **span: float) -> None:
        self.time += timedelta(**span)


def on_postgresql() -> bool:
    return os.environ.get("QUIZSVC_TEST_DATABASE") == "postgresql"


def address_in(folder: Path) -> str:
    """Return the address of the folder's database, made empty on a server when first asked for."""
    if not on_postgresql():
        return f"sqlite:///{folder / 'quizsvc.sqlite3'}"
    return _on_the_server.setdefault(folder, "") or _new_on_the_server(folder)


def copy_house(original: Path, folder: Path) -> None:
    """Copy a closed house into another folder."""
    shutil.copytree(original, folder, dirs_exist_ok=True)
    if on_postgresql():
        copy_of = address_in(original)
        _on_the_server[folder] = postgres_server.new_database(copy_of=copy_of)


def drop_house(folder: Path) -> None:
    """Take a closed house's database off the server, if it is on one."""
    if folder in _on_the_server:
        postgres_server.drop_database(_on_the_server.pop(folder))


def _new_on_the_server(folder: Path) -> str:
    _on_the_server[folder] = postgres_server.new_database()
    return _on_the_server[folder]


def settings_in(folder: Path, **more: object) -> Settings:
    stated = {
        "instance": folder,
        "database_url": address_in(folder),
        "secret_key": "an invented key for tests only, 32+ characters",
        "public_url": "http://localhost",
        "media": HERE / "media",
    }
    return Settings(**(stated | more))


def reopened_house(folder: Path, **more: object) -> House:
    """Open the house in a folder; its seeds run 1, 2, 3… so that the same items come again."""
    return House.open(settings_in(folder, **more), upgrade=True, seeds=count(1).__next__)


def furnished_house(folder: Path, **more: object) -> House:
    """Open a new house and put people, engines and a bank into it."""
    house = reopened_house(folder, **more)
    with house.write() as connection:
        shop = make_shop(connection, "Invented Garage", invented=True, now=START)
        hashed = house.passwords.hashed(PASSWORD)
        for name, role in PEOPLE.items():
            person = NewPerson(f"{name.title()} Invented", name, hashed, {role})
            enrol(connection, None, shop, person, now=START)
        keep_shipped_sheets(connection, house.settings.question_banks / "engines", now=START)
        keep_bank(connection, None, BANK, media=house.settings.media, shop_id=None, now=START)
    return house
