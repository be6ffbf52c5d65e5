"""Keep the people of a shop: roles, names, who may sign in, who leaves; and its classes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, allows, may_give, require
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.store import classes, invitations, people, people_pages, sessions
from quizsvc.store.classes import Member, Part, StoredClass
from quizsvc.store.people_pages import PersonRow

LONGEST_NAME = 200


@dataclass(frozen=True, slots=True)
class ClassPage:
    """A class, who is in it, and who of the shop could be."""

    id: int
    name: str
    members: tuple[Member, ...]
    others: tuple[PersonRow, ...]
    may_keep: bool


def list_people(house: House, actor: Actor, *, words: str = "") -> tuple[PersonRow, ...]:
    """Return the people of the actor's shop by name; ``words`` narrows them down."""
    require(actor, May.KEEP_PEOPLE)
    with house.read() as connection:
        return people_pages.people_of(connection, actor.shop_id, words=words.strip()[:80])


def person(house: House, actor: Actor, person_id: int) -> PersonRow:
    """Return one of the people of the actor's shop."""
    require(actor, May.KEEP_PEOPLE)
    with house.read() as connection:
        return _person(connection, actor, person_id)


def rename(house: House, actor: Actor, person_id: int, name: str) -> None:
    require(actor, May.KEEP_PEOPLE)
    with house.write() as connection:
        _person(connection, actor, person_id)
        people_pages.rename(connection, person_id, plain_name(name))


def set_roles(
    house: House, actor: Actor, person_id: int, roles: frozenset[Role], *, now: datetime
) -> None:
    """Make these the roles a person holds in the shop; it counts at their next request.

    Raises:
        NotAllowedError: only administrators make or unmake an administrator.
        ConflictError: the shop would be left without an administrator.
    """
    require(actor, May.KEEP_PEOPLE)
    if not roles:
        raise InputError(
            "a person needs a role.",
            field="roles",
            value="none",
            remedy="Choose one, or let the person leave the shop.",
        )
    with house.write() as connection:
        held = _person(connection, actor, person_id).roles
        for role in held ^ roles:
            _require_giving(actor, role)
        _keep_one_administrator(connection, actor, held, roles)
        people.add_roles(connection, person_id, actor.shop_id, roles - held, now=now)
        for role in held - roles:
            people_pages.take_role(connection, person_id, actor.shop_id, role)
        _note_roles(connection, actor, person_id, held, roles, now)


def deactivate(house: House, actor: Actor, person_id: int, *, now: datetime) -> None:
    """Let a person sign in no more, and end their sessions at once; the record stays."""
    require(actor, May.KEEP_PEOPLE)
    if person_id == actor.person_id:
        raise ConflictError(
            "you cannot deactivate yourself.", remedy="Ask another administrator to."
        )
    with house.write() as connection:
        held = require_keeping(connection, actor, person_id)
        _keep_one_administrator(connection, actor, held.roles, frozenset())
        people_pages.set_active(connection, person_id, active=False)
        sessions.end_all_sessions(connection, person_id, now=now)
        invitations.withdraw_of_person(connection, person_id, now=now)
        note(connection, actor, Action.PERSON_DEACTIVATED, f"person {person_id}", now=now)


def reactivate(house: House, actor: Actor, person_id: int, *, now: datetime) -> None:
    """Let a person sign in again."""
    require(actor, May.KEEP_PEOPLE)
    with house.write() as connection:
        require_keeping(connection, actor, person_id)
        people_pages.set_active(connection, person_id, active=True)
        note(connection, actor, Action.PERSON_REACTIVATED, f"person {person_id}", now=now)


def leave_shop(house: House, actor: Actor, person_id: int, *, now: datetime) -> None:
    """Take a person out of the shop and its classes; their record stays theirs."""
    require(actor, May.KEEP_PEOPLE)
    with house.write() as connection:
        held = _person(connection, actor, person_id)
        for role in held.roles:
            _require_giving(actor, role)
        _keep_one_administrator(connection, actor, held.roles, frozenset())
        leave(connection, actor, person_id, actor.shop_id, now=now)


def leave(
    connection: Connection, actor: Actor, person_id: int, shop_id: int, *, now: datetime
) -> None:
    """Take a person out of a shop within the caller's transaction."""
    for role in people_pages.roles_in(connection, person_id, shop_id):
        people_pages.take_role(connection, person_id, shop_id, role)
    classes.leave_all(connection, person_id, shop_id, now=now)
    invitations.drop_feed(connection, person_id, shop_id)
    sessions.end_all_sessions(connection, person_id, now=now)
    note(connection, actor, Action.SHOP_LEFT, f"person {person_id}", now=now, shop=shop_id)


def require_keeping(connection: Connection, actor: Actor, person_id: int) -> PersonRow:
    """Return somebody whose way of signing in the actor may change.

    Raises:
        NotFoundError: they are of another shop.
        ConflictError: they work in another shop too, which relies on it as well.
        NotAllowedError: only administrators do so for an administrator.
    """
    held = _person(connection, actor, person_id)
    _require_theirs_alone(connection, actor, person_id)
    for role in held.roles:
        _require_giving(actor, role)
    return held


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


def plain_name(text: str) -> str:
    """Return a name without stray spaces.

    Raises:
        InputError: it is empty or too long.
    """
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME:
        raise InputError(
            f"a name has from 1 to {LONGEST_NAME} characters.",
            field="name",
            value=name[:40],
            remedy="Write another.",
        )
    return name


def _person(connection: Connection, actor: Actor, person_id: int) -> PersonRow:
    found = people_pages.people_of(connection, actor.shop_id, person_id=person_id)
    if not found:
        raise NotFoundError(
            "there is no such person in this shop.",
            field="person",
            value=person_id,
            remedy="Go to the list of people.",
        )
    return found[0]


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


def _require_giving(actor: Actor, role: Role) -> None:
    if not may_give(actor, role):
        raise NotAllowedError(
            f"you may not give or take the role “{role.value}”.",
            field="roles",
            value=role.value,
            remedy="Somebody who is administrator in this shop may.",
        )


def _keep_one_administrator(
    connection: Connection, actor: Actor, held: frozenset[Role], wanted: frozenset[Role]
) -> None:
    loses = Role.ADMINISTRATOR in held and Role.ADMINISTRATOR not in wanted
    if loses and people_pages.holders(connection, actor.shop_id, Role.ADMINISTRATOR) <= 1:
        raise ConflictError(
            "this shop would be left without an administrator.",
            field="roles",
            value=Role.ADMINISTRATOR.value,
            remedy="Make somebody else administrator first.",
        )


def _require_theirs_alone(connection: Connection, actor: Actor, person_id: int) -> None:
    """Refuse to act on an account that another shop relies on too."""
    if people_pages.shops_of(connection, person_id) != {actor.shop_id}:
        raise ConflictError(
            "this person works in another shop too.",
            field="person",
            value=person_id,
            remedy="Let them leave this shop instead.",
        )


def _note_roles(
    connection: Connection,
    actor: Actor,
    person_id: int,
    held: frozenset[Role],
    roles: frozenset[Role],
    now: datetime,
) -> None:
    for action, changed in (
        (Action.ROLE_GIVEN, roles - held),
        (Action.ROLE_TAKEN, held - roles),
    ):
        for role in sorted(changed):
            note(connection, actor, action, f"person {person_id}", now=now, role=role.value)
