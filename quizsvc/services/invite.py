"""Invitations: links that open a shop to one person, once, for some days."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, may_give, require
from quizsvc.services.accounts import known_form
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.keep_people import leave, plain_name, require_keeping
from quizsvc.services.security_events import Event, tell
from quizsvc.store import classes, invitations, people, people_pages, sessions
from quizsvc.store.classes import Part
from quizsvc.store.invitations import StoredInvitation

TOKEN_BYTES = 16  # 128 bits
MOST_DAYS = 60
RESET_FOR = timedelta(days=1)  # a link that lets somebody choose a password anew
LONGEST_TOKEN = 64


@dataclass(frozen=True, slots=True)
class Wanted:
    """Whom to invite as what; ``person_id`` for somebody who is there and needs a password.

    That is one who has none yet, or who forgot theirs: the link for these ends within a day.
    """

    name: str
    role: Role
    class_id: int | None = None
    person_id: int | None = None
    days: int = 14


@dataclass(frozen=True, slots=True)
class OpenInvitation:
    """An invitation as the invited person sees it."""

    shop_name: str
    name: str
    role: Role
    ends_at: datetime
    sets_password: bool  # the account is there; only its password is to be chosen
    sign_in_name: str


def invite(house: House, actor: Actor, wanted: Wanted, *, now: datetime) -> str:
    """Make an invitation; return its token, which is kept nowhere.

    Raises:
        NotAllowedError: the actor may not give this role.
        InputError: days or name are unusable.
    """
    require(actor, May.KEEP_PEOPLE)
    with house.write() as connection:
        return add_invitation(connection, actor, wanted, now=now)


def add_invitation(connection: Connection, actor: Actor, wanted: Wanted, *, now: datetime) -> str:
    """Make an invitation within the caller's transaction."""
    if not may_give(actor, wanted.role):
        raise NotAllowedError(
            f"you may not invite somebody as {wanted.role.value}.",
            remedy="Somebody who is administrator in this shop may.",
        )
    if not 1 <= wanted.days <= MOST_DAYS:
        raise InputError(
            "an invitation cannot last so long.",
            field="days",
            value=wanted.days,
            remedy=f"From 1 to {MOST_DAYS} days.",
        )
    rooms = {one.id for one in classes.classes_of_shop(connection, actor.shop_id)}
    if wanted.class_id is not None and wanted.class_id not in rooms:
        raise NotFoundError("there is no such class.", field="class", value=wanted.class_id)
    ends_at = now + timedelta(days=wanted.days)
    if wanted.person_id is not None:
        if _has_password(connection, actor, wanted.person_id):
            ends_at = min(ends_at, now + RESET_FOR)
        invitations.withdraw_of_person(connection, wanted.person_id, now=now)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    number = invitations.add_invitation(
        connection,
        token_hash=_hash(token),
        shop_id=actor.shop_id,
        class_id=wanted.class_id,
        person_id=wanted.person_id,
        name=plain_name(wanted.name),
        role=wanted.role.value,
        made_by=actor.person_id,
        made_at=now,
        ends_at=ends_at,
    )
    note(
        connection,
        actor,
        Action.PERSON_INVITED,
        f"invitation {number}",
        now=now,
        role=wanted.role.value,
    )
    return token


def open_invitations(house: House, actor: Actor) -> tuple[StoredInvitation, ...]:
    """Return the invitations of the shop that nobody has used."""
    require(actor, May.KEEP_PEOPLE)
    with house.read() as connection:
        return invitations.invitations_of(connection, actor.shop_id)


def withdraw(house: House, actor: Actor, invitation_id: int, *, now: datetime) -> None:
    require(actor, May.KEEP_PEOPLE)
    with house.write() as connection:
        found = invitations.withdraw_invitation(connection, actor.shop_id, invitation_id, now=now)
    if not found:
        raise NotFoundError(
            "there is no such open invitation.",
            field="invitation",
            value=invitation_id,
            remedy="It may have been used or withdrawn meanwhile.",
        )


def look(house: House, token: str, *, now: datetime) -> OpenInvitation:
    """Return an invitation that can still be used.

    Raises:
        NotFoundError: it is unknown, used, withdrawn or too old; never says which.
    """
    with house.read() as connection:
        held = _usable(connection, token, now)
        shop = next(one for one in people.all_shops(connection) if one.id == held.shop_id)
        sign_in_name = ""
        if held.person_id is not None:
            rows = people_pages.people_of(connection, held.shop_id, person_id=held.person_id)
            sign_in_name = rows[0].sign_in_name or "" if rows else ""
    return OpenInvitation(
        shop.name,
        held.name,
        Role(held.role),
        held.ends_at,
        held.person_id is not None,
        sign_in_name,
    )


def join_new(
    house: House, token: str, *, name: str, sign_in_name: str, password: str, now: datetime
) -> int:
    """Use an invitation as somebody without an account; return the new person's key.

    Raises:
        InputError, ConflictError: name, sign-in name or password cannot be used.
        NotFoundError: the invitation cannot be used.
    """
    known = look(house, token, now=now)
    about = (known.name, known.sign_in_name, known.shop_name, name, sign_in_name)
    hashed = house.passwords.hashed(password, about=about)
    with house.write() as connection:
        held = _usable(connection, token, now, lock=True)
        if held.person_id is not None:
            person_id = held.person_id
            _choose_password(connection, held, person_id, hashed, now=now)
        else:
            person_id = _add(connection, name, sign_in_name, hashed, now)
            _give(connection, held, person_id, now=now)
        _use(connection, held, person_id, now)
    return person_id


def join_as(house: House, actor: Actor, token: str, *, leaving: bool, now: datetime) -> None:
    """Use an invitation as somebody who has an account; ``leaving`` the shop they work in now.

    The person stays the same, so their record goes with them. They sign in anew to be in the
    new shop.
    """
    with house.write() as connection:
        held = _usable(connection, token, now, lock=True)
        if held.person_id not in (None, actor.person_id):
            raise ConflictError(
                "this invitation is for somebody else.",
                field="invitation",
                value=held.name,
                remedy="Sign out first, if it is yours.",
            )
        if leaving and held.shop_id != actor.shop_id:
            _refuse_last_administrator(connection, actor)
            leave(connection, actor, actor.person_id, actor.shop_id, now=now)
        _give(connection, held, actor.person_id, now=now)
        _use(connection, held, actor.person_id, now)


def _choose_password(
    connection: Connection, held: StoredInvitation, person_id: int, hashed: str, *, now: datetime
) -> None:
    """Put a password in place of none or of a forgotten one, whose sessions end."""
    people_pages.set_password(connection, person_id, hashed)
    sessions.end_all_sessions(connection, person_id, now=now)
    note(
        connection,
        None,
        Action.PASSWORD_CHANGED,
        f"person {person_id}",
        now=now,
        shop_id=held.shop_id,
        by=f"invitation {held.id}",
    )
    tell(Event.PASSWORD_CHANGED, person=person_id)


def _give(connection: Connection, held: StoredInvitation, person_id: int, *, now: datetime) -> None:
    role = Role(held.role)
    if role not in people_pages.roles_in(connection, person_id, held.shop_id):
        people.add_roles(connection, person_id, held.shop_id, [role], now=now)
    if held.class_id is not None and role in {Role.LEARNER, Role.INSTRUCTOR}:
        classes.set_part(connection, held.class_id, person_id, Part(role.value), now=now)


def _use(connection: Connection, held: StoredInvitation, person_id: int, now: datetime) -> None:
    invitations.use_invitation(connection, held.id, person_id, now=now)
    note(
        connection,
        None,
        Action.INVITATION_USED,
        f"invitation {held.id}",
        now=now,
        shop_id=held.shop_id,
        person=person_id,
        role=held.role,
    )


def _add(connection: Connection, name: str, sign_in_name: str, hashed: str, now: datetime) -> int:
    known = known_form(sign_in_name)
    if not known:
        raise InputError(
            "a sign-in name is needed.", field="sign-in name", value="", remedy="Choose one."
        )
    if people.find_for_sign_in(connection, known) is not None:
        raise ConflictError(
            "somebody has this sign-in name.",
            field="sign-in name",
            value=known,
            remedy="Choose another; if it is yours, sign in first and open the link again.",
        )
    return people.add_person(
        connection, plain_name(name), sign_in_name=known, password_hash=hashed, now=now
    )


def _usable(
    connection: Connection, token: str, now: datetime, *, lock: bool = False
) -> StoredInvitation:
    usable = 0 < len(token) <= LONGEST_TOKEN
    held = invitations.find_invitation(connection, _hash(token), lock=lock) if usable else None
    if held is None or held.used_at or held.withdrawn_at or now >= held.ends_at:
        raise NotFoundError(
            "this invitation cannot be used: it is unknown, used, withdrawn or too old.",
            field="invitation",
            value="…",
            remedy="Ask for a new one.",
        )
    return held


def _has_password(connection: Connection, actor: Actor, person_id: int) -> bool:
    """Return whether somebody of the shop has a password.

    Raises:
        NotFoundError: there is no such person in the shop.
        ConflictError, NotAllowedError: they have one, and it is not for the actor to reset.
    """
    rows = people_pages.people_of(connection, actor.shop_id, person_id=person_id)
    if not rows:
        raise NotFoundError(
            "there is no such person in this shop.", field="person", value=person_id
        )
    if not rows[0].has_password:
        return False
    if person_id == actor.person_id:
        raise ConflictError(
            "you have a password.",
            field="person",
            value=rows[0].name,
            remedy="Change it in your account; that asks for the present one.",
        )
    require(actor, May.RESET_PASSWORDS)
    require_keeping(connection, actor, person_id)
    return True


def _refuse_last_administrator(connection: Connection, actor: Actor) -> None:
    administers = Role.ADMINISTRATOR in people_pages.roles_in(
        connection, actor.person_id, actor.shop_id
    )
    if administers and people_pages.holders(connection, actor.shop_id, Role.ADMINISTRATOR) <= 1:
        raise ConflictError(
            "your shop would be left without an administrator.",
            field="shop",
            value=actor.shop_name,
            remedy="Make somebody else administrator first, or keep both shops.",
        )


def _hash(token: str) -> str:
    return sha256(f"invitation\x1f{token}".encode()).hexdigest()
