"""Keep the classes of a shop and who is in them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, allows, require
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.keep_people import plain_name
from quizsvc.store import classes, people_pages
from quizsvc.store.classes import Member, Part, StoredClass
from quizsvc.store.people_pages import PersonRow


@dataclass(frozen=True, slots=True)
class ClassPage:
    """A class, who is in it, and who of the shop could be."""

    id: int
    name: str
    members: tuple[Member, ...]
    others: tuple[PersonRow, ...]
    may_keep: bool


def list_classes(house: House, actor: Actor) -> tuple[StoredClass, ...]:
    """Return the classes of the shop; an instructor sees those they lead."""
    require(actor, May.KEEP_CLASSES)
    with house.read() as connection:
        found = classes.classes_of_shop(connection, actor.shop_id)
        if allows(actor, May.KEEP_PEOPLE):
            return found
        leads = classes.led_by(connection, actor.person_id)
    return tuple(one for one in found if one.id in leads)


def make_class(house: House, actor: Actor, name: str, *, now: datetime) -> int:
    """Make a class and return its key; an instructor who makes one leads it."""
    require(actor, May.KEEP_CLASSES)
    plain = plain_name(name)
    with house.write() as connection:
        if any(one.name == plain for one in classes.classes_of_shop(connection, actor.shop_id)):
            raise ConflictError(
                "there is a class of this name.",
                field="class",
                value=plain,
                remedy="Choose another.",
            )
        class_id = classes.add_class(connection, actor.shop_id, plain, now=now)
        if actor.is_a(Role.INSTRUCTOR):
            classes.add_member(connection, class_id, actor.person_id, Part.INSTRUCTOR, now=now)
        note(connection, actor, Action.CLASS_CHANGED, f"class {class_id}", now=now, made=True)
    return class_id


def class_page(house: House, actor: Actor, class_id: int) -> ClassPage:
    """Return a class of the shop that the actor keeps or leads."""
    with house.read() as connection:
        held = _class(connection, actor, class_id)
        members = classes.members_of(connection, class_id)
        inside = {member.person_id for member in members}
        others = tuple(
            one
            for one in people_pages.people_of(connection, actor.shop_id)
            if one.id not in inside and one.active
        )
    return ClassPage(class_id, held.name, members, others, allows(actor, May.KEEP_CLASSES))


def put_into_class(
    house: House, actor: Actor, class_id: int, person_id: int, part: Part, *, now: datetime
) -> None:
    """Give a person of the shop a part in a class; the part must fit a role they hold."""
    with house.write() as connection:
        _class(connection, actor, class_id)
        roles = people_pages.roles_in(connection, person_id, actor.shop_id)
        if Role(part.value) not in roles:
            raise ConflictError(
                f"this person is no {part.value} in the shop.",
                field="person",
                value=person_id,
                remedy=f"Give them the role “{part.value}” first.",
            )
        classes.set_part(connection, class_id, person_id, part, now=now)
        note(
            connection,
            actor,
            Action.CLASS_CHANGED,
            f"class {class_id}",
            now=now,
            person=person_id,
            part=part.value,
        )


def take_out_of_class(
    house: House, actor: Actor, class_id: int, person_id: int, *, now: datetime
) -> None:
    with house.write() as connection:
        _class(connection, actor, class_id)
        classes.leave(connection, class_id, person_id, now=now)
        note(
            connection,
            actor,
            Action.CLASS_CHANGED,
            f"class {class_id}",
            now=now,
            person=person_id,
            part="none",
        )


def part_named(text: str) -> Part:
    """Return a part in a class by its name.

    Raises:
        InputError: there is no such part.
    """
    try:
        return Part(text)
    except ValueError:
        raise InputError(
            "there is no such part in a class.",
            field="part",
            value=text[:30],
            remedy="Choose learner or instructor.",
        ) from None


def _class(connection: Connection, actor: Actor, class_id: int) -> StoredClass:
    """Return a class the actor may keep; any other looks like none at all."""
    require(actor, May.KEEP_CLASSES)
    keeps_all = allows(actor, May.KEEP_PEOPLE)
    leads = classes.led_by(connection, actor.person_id)
    for one in classes.classes_of_shop(connection, actor.shop_id):
        if one.id == class_id and (keeps_all or class_id in leads):
            return one
    raise NotFoundError(
        "there is no such class for you.",
        field="class",
        value=class_id,
        remedy="Go to the list of classes.",
    )
