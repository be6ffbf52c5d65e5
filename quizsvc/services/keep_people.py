"""Keep the people of a shop: roles, names, who may sign in, who leaves."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, may_give, require
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.store import classes, invitations, people, people_pages, sessions
from quizsvc.store.people_pages import PersonRow

LONGEST_NAME = 200


def list_people(house: House, actor: Actor, *, words: str = "") -> tuple[PersonRow, ...]:
    """Return the people of the actor's shop by name; ``words`` narrows them down."""
    require(actor, May.KEEP_PEOPLE)
    with house.read() as connection:
        return people_pages.people_of(connection, actor.shop_id, words=words.strip()[:80])


def person(house: House, actor: Actor, person_id: int) -> PersonRow:
    """Return one of the people of the actor's shop."""
    require(actor, May.KEEP_PEOPLE)
    with house.read() as connection:
        return person_of_shop(connection, actor, person_id)


def rename(house: House, actor: Actor, person_id: int, name: str) -> None:
    require(actor, May.KEEP_PEOPLE)
    with house.write() as connection:
        person_of_shop(connection, actor, person_id)
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
        held = person_of_shop(connection, actor, person_id).roles
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
        held = person_of_shop(connection, actor, person_id)
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
    held = person_of_shop(connection, actor, person_id)
    _require_theirs_alone(connection, actor, person_id)
    for role in held.roles:
        _require_giving(actor, role)
    return held


def plain_name(text: str, *, field: str = "name") -> str:
    """Return a name without stray spaces.

    Raises:
        InputError: it is empty or too long.
    """
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME:
        raise InputError(
            f"a name has from 1 to {LONGEST_NAME} characters.",
            field=field,
            value=name[:40],
            remedy="Write another.",
        )
    return name


def person_of_shop(connection: Connection, actor: Actor, person_id: int) -> PersonRow:
    """Return a person of the actor's shop; any other looks like none at all."""
    found = people_pages.people_of(connection, actor.shop_id, person_id=person_id)
    if not found:
        raise NotFoundError(
            "there is no such person in this shop.",
            field="person",
            value=person_id,
            remedy="Go to the list of people.",
        )
    return found[0]


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
