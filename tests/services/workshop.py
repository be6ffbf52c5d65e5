"""An invented workshop to test services in: people, a sheet, and a bank with every kind of item."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from itertools import count
from pathlib import Path

from quizsvc.config import HOME, Settings
from quizsvc.rules.actors import Actor, Role
from quizsvc.services.banks import keep_bank
from quizsvc.services.house import House
from quizsvc.services.passwords import Passwords
from quizsvc.services.people import NewPerson, enrol, make_shop
from quizsvc.services.sheets import keep_sheet

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
PASSWORD = "a lamp beside the bench"
FIRST_SEED = 7_000_000_000_000  # long enough to be found where it must not be
SHEET = HOME / "question_banks" / "engines" / "demo-inline-four.toml"

BANK = """
schema_version = 1
id = "workshop"
title = "Workshop bank (invented)"
author = "tests"

[[items]]
id = "first-step"
topic = "safety"
level = "recall"
kind = "one choice"
prompt = "What comes before any work on the timing drive?"
reference = "common practice, no source"
caution = "Keep fingers clear of the chain."
options = [
  { text = "Ignition off, key away", correct = true, rationale = "Nobody can start it then." },
  { text = "Radio on", rationale = "That starts nothing and stops nothing." },
  { text = "Drain the oil", rationale = "Only some jobs need that." },
  { text = "Remove the cam", rationale = "Far too early." },
]

[[items]]
id = "several"
topic = "wear"
level = "apply"
kind = "several choices"
prompt = "What points to a worn chain? Choose all that do."
reference = "common practice, no source"
options = [
  { text = "Rattle at cold start", correct = true, rationale = "The slack strand slaps." },
  { text = "Plunger far out", correct = true, rationale = "The chain has grown." },
  { text = "Full fuel tank", rationale = "It has nothing to do with it." },
]

[[items]]
id = "percent"
topic = "chain"
level = "apply"
kind = "number"
prompt = "A chain of 1000 mm has grown to 1012.5 mm. By how many percent?"
reference = "second method"
answer = { value = 1.25, tolerance = 0.005, unit = "%", decimals = 2, quantity = "percent" }

[[items]]
id = "order"
topic = "procedure"
level = "apply"
kind = "order"
prompt = "Put the work in order."
reference = "common practice, no source"
sequence = [
  { id = "a", text = "Disconnect" },
  { id = "b", text = "Open" },
  { id = "c", text = "Inspect" },
]
before = [
  { first = "a", later = "b", why = "Current kills units." },
  { first = "b", later = "c", why = "One sees nothing through a cover." },
]

[[items]]
id = "match"
topic = "cooling"
level = "recall"
kind = "match"
prompt = "What does what?"
reference = "common practice, no source"
pairs = [
  { left = "Pump", right = "moves coolant" },
  { left = "Thermostat", right = "holds it back when cold" },
  { left = "Radiator", right = "gives off heat" },
]
"""


@dataclass
class Workshop:
    """A house with people, and the time of day in it."""

    house: House
    shop_id: int
    people: dict[str, Actor]
    now: datetime = NOON

    def later(self, **span: float) -> datetime:
        self.now += timedelta(**span)
        return self.now


@cache
def hashed_password() -> str:
    return Passwords().hashed(PASSWORD)


def settings_for(url: str, folder: Path, **more: object) -> Settings:
    stated = {"instance": folder, "database_url": url, "secret_key": "x" * 64}
    return Settings(**(stated | more))


def open_house(url: str, folder: Path, *, upgrade: bool = False) -> House:
    """Open a house whose seeds follow each other, so that the same items come in the same order."""
    return House.open(settings_for(url, folder), upgrade=upgrade, seeds=count(FIRST_SEED).__next__)


def stock(house: House, folder: Path, *, bank: str = BANK) -> tuple[int, dict[str, Actor]]:
    """Put two shops with people, an engine sheet and a bank into an empty database."""
    people: dict[str, Actor] = {}
    with house.write() as connection:
        shop_id = make_shop(connection, "Invented Workshop", invented=True, now=NOON)
        other_id = make_shop(connection, "Other Invented Workshop", invented=True, now=NOON)
        for name, shop, role in _staff(shop_id, other_id):
            new = NewPerson(name.title(), name, hashed_password(), {role})
            person_id = enrol(connection, None, shop, new, now=NOON)
            people[name] = Actor(person_id, name.title(), shop, frozenset({role}))
        keep_sheet(connection, None, SHEET.read_text(), shop_id=None, now=NOON)
        path = folder / "workshop.toml"
        path.write_text(bank)
        keep_bank(connection, None, path, media=folder, shop_id=None, now=NOON)
    return shop_id, people


def _staff(shop_id: int, other_id: int) -> Iterator[tuple[str, int, Role]]:
    yield "ana", shop_id, Role.LEARNER
    yield "ben", shop_id, Role.LEARNER
    yield "ida", shop_id, Role.INSTRUCTOR
    yield "max", shop_id, Role.MANAGER
    yield "oda", other_id, Role.LEARNER
    yield "iris", shop_id, Role.INSTRUCTOR
