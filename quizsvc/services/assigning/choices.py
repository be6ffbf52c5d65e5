"""What an assignment may be built from and for."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.items.family import all_families
from quizsvc.items.topics import TOPICS
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.house import House
from quizsvc.services.shown import SheetChoice
from quizsvc.store import banks, classes, people_pages, sheets


@dataclass(frozen=True, slots=True)
class ItemChoice:
    """A family or a bank item to choose for an assignment."""

    ref: str
    title: str
    topic: str


@dataclass(frozen=True, slots=True)
class ClassChoice:
    id: int
    name: str
    learners: int


@dataclass(frozen=True, slots=True)
class PersonChoice:
    id: int
    name: str


@dataclass(frozen=True, slots=True)
class Choices:
    """All an assignment may be built from and for."""

    classes: tuple[ClassChoice, ...]
    people: tuple[PersonChoice, ...]
    sheets: tuple[SheetChoice, ...]
    topics: tuple[tuple[str, str], ...]
    families: tuple[ItemChoice, ...]
    bank_items: tuple[ItemChoice, ...]


def choices(house: House, actor: Actor) -> Choices:
    """Return what an assignment may be built from and for."""
    require(actor, May.ASSIGN)
    with house.read() as connection:
        led = classes.led_by(connection, actor.person_id)
        rooms = [
            ClassChoice(one.id, one.name, one.learners)
            for one in classes.classes_of_shop(connection, actor.shop_id)
            if one.id in led and one.archived_at is None
        ]
        learners = people_pages.active_learners(connection, actor.shop_id)
        revisions = sheets.latest_published(connection, actor.shop_id)
        written = [
            ItemChoice(f"bank:{one.bank_id}/{one.entry}", one.entry.replace("-", " "), topic.id)
            for topic in TOPICS
            for one in banks.current_approved(connection, actor.shop_id, topic.id)
        ]
    return Choices(
        tuple(rooms),
        tuple(PersonChoice(*one) for one in learners),
        tuple(SheetChoice(one.sheet_id, one.title, one.revision) for one in revisions),
        tuple((topic.id, topic.title) for topic in TOPICS),
        tuple(ItemChoice(one.id, one.title, one.topic) for one in all_families().values()),
        tuple(written),
    )
