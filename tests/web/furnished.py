"""A house with an invented shop, one person per role, the shipped engines and one bank."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from quizsvc.config import Settings
from quizsvc.rules.actors import Role
from quizsvc.services.banks import keep_bank
from quizsvc.services.house import House
from quizsvc.services.people import NewPerson, enrol, make_shop
from quizsvc.services.sheets import keep_shipped_sheets

HERE = Path(__file__).parent
BANK = HERE / "bank-of-every-kind.toml"
START = datetime(2025, 3, 3, 8, 0, tzinfo=UTC)
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


def settings_in(folder: Path, **more: object) -> Settings:
    stated = {
        "instance": folder,
        "database_url": f"sqlite:///{folder / 'quizsvc.sqlite3'}",
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
