"""Invented people, from Faker at a fixed seed."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from faker import Faker

from quizsvc.rules.actors import Role

SEED = 20260301
SHOP = "Invented Valve-Train Workshop (demo)"


@dataclass(frozen=True, slots=True)
class Invented:
    """An invented person and how they sign in."""

    name: str
    sign_in_name: str
    roles: frozenset[Role]


def invent_people(learners: int, *, instructors: int = 3, managers: int = 2) -> list[Invented]:
    """Return administrator, managers, instructors, then learners; the same for ever."""
    roles = [Role.ADMINISTRATOR, *[Role.MANAGER] * managers, *[Role.INSTRUCTOR] * instructors]
    roles += [Role.LEARNER] * learners
    faker = Faker("en_GB")
    faker.seed_instance(SEED)
    taken: set[str] = set()
    return [_invent(faker, role, taken) for role in roles]


def _invent(faker: Faker, role: Role, taken: set[str]) -> Invented:
    name = f"{faker.first_name()} {faker.last_name()}"
    plain = _plain(name)
    count, sign_in_name = 1, plain
    while sign_in_name in taken:
        count += 1
        sign_in_name = f"{plain}{count}"
    taken.add(sign_in_name)
    return Invented(name, sign_in_name, frozenset({role}))


def _plain(name: str) -> str:
    ascii_only = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return ".".join(
        "".join(c for c in word if c.isalnum()) for word in ascii_only.casefold().split()
    )
