"""Sign off hands-on tasks beside the vehicle: begin, tick, hand in, confirm as second person."""

from __future__ import annotations

import json
import secrets
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.certifying import (
    SignOffState,
    missed_critical,
    require_may_assess,
    require_may_second,
    require_open,
    task_passed,
)
from quizsvc.rules.permissions import May, owns, require
from quizsvc.rules.schemes import Task, from_text
from quizsvc.services.auditing import note
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.house import House
from quizsvc.services.pictures import redrawn
from quizsvc.services.refusals import noted_refusals
from quizsvc.store import people_pages, schemes, signoffs
from quizsvc.store.signoffs import StoredSignOff

TOKEN_BYTES = 16  # 128 bits
MOST_PICTURES = 6
LONGEST_NOTES = 2000


@dataclass(frozen=True, slots=True)
class SignOffPage:
    """A sign-off with its task's checklist, as its assessor sees it."""

    row: StoredSignOff
    task: Task
    scheme: str
    done: frozenset[int]
    missed: tuple[str, ...]
    pictures: tuple[int, ...]
    may_confirm: bool


def begin(
    house: House, actor: Actor, version_id: int, task_id: str, person_id: int, *, now: datetime
) -> str:
    """Begin a checklist for a candidate and return its token.

    Raises:
        NotAllowedError: the actor would assess themselves, or is no assessor.
    """
    require(actor, May.SIGN_OFF)
    with noted_refusals(house, actor, f"person {person_id}", now=now), house.write() as connection:
        held = scheme_service.published(connection, actor, version_id)
        task = held.terms.task(task_id)
        require_may_assess(actor.person_id, person_id)
        if not people_pages.roles_in(connection, person_id, actor.shop_id):
            raise NotFoundError(
                "there is no such person in this shop.",
                field="candidate",
                value=person_id,
                remedy="Choose one of those on the page.",
            )
        token = secrets.token_hex(TOKEN_BYTES)
        signoffs.add_sign_off(
            connection,
            token=token,
            version_id=version_id,
            task=task.id,
            person_id=person_id,
            shop_id=actor.shop_id,
            state=SignOffState.OPEN.value,
            assessor_id=actor.person_id,
            done="[]",
            notes="",
            opened_at=now,
        )
        note(
            connection,
            actor,
            Action.SIGN_OFF_BEGUN,
            f"sign-off {token}",
            now=now,
            person=person_id,
            task=task.id,
        )
    return token


def look(house: House, actor: Actor, token: str) -> SignOffPage:
    require(actor, May.SIGN_OFF)
    with house.read() as connection:
        row = _find(connection, actor, token)
        task, title = _task(connection, row)
        pictures = signoffs.pictures_of(connection, row.id)
    done = frozenset(json.loads(row.done))
    return SignOffPage(
        row,
        task,
        title,
        done,
        missed_critical(task, done),
        pictures,
        may_confirm=row.state is SignOffState.TO_CONFIRM
        and actor.person_id not in {row.person_id, row.assessor_id},
    )


def hand_in(
    house: House,
    actor: Actor,
    token: str,
    done: Collection[int],
    notes: str,
    pictures: Collection[bytes] = (),
    *,
    now: datetime,
) -> bool:
    """Hand in a checklist, once, and return whether the task is passed.

    Raises:
        ConflictError: it was handed in before.
        NotFoundError: it is another assessor's.
    """
    require(actor, May.SIGN_OFF)
    kept = _redrawn(pictures)
    if len(notes) > LONGEST_NOTES:
        raise InputError(
            "these notes are too long.",
            field="notes",
            value=f"{len(notes)} characters",
            remedy=f"At most {LONGEST_NOTES}.",
        )
    with noted_refusals(house, actor, f"sign-off {token}", now=now), house.write() as connection:
        row = _find(connection, actor, token, lock=True)
        require_may_assess(actor.person_id, row.person_id)
        if row.assessor_id != actor.person_id:
            raise ConflictError(
                "another assessor began this sign-off.",
                field="assessor",
                value=row.assessor,
                remedy="Begin one of your own.",
            )
        require_open(row.state)
        task, _ = _task(connection, row)
        ticked = sorted(set(done) & set(range(1, len(task.steps) + 1)))
        passed = task_passed(task, ticked)
        # Only what is passed needs the second person: a failed task is failed.
        waits = task.two_persons and passed
        state = SignOffState.TO_CONFIRM if waits else SignOffState.DONE
        signoffs.change_sign_off(
            connection,
            row.id,
            state=state.value,
            done=json.dumps(ticked),
            notes=notes.strip(),
            passed=passed,
            assessed_at=now,
        )
        for content, media_type in kept:
            digest = sha256(content).hexdigest()
            signoffs.add_picture(connection, row.id, content, media_type, digest)
        note(
            connection,
            actor,
            Action.SIGN_OFF_GIVEN,
            f"sign-off {token}",
            now=now,
            person=row.person_id,
            task=row.task,
            passed=passed,
            done=ticked,
            pictures=len(kept),
        )
    return passed


def confirm(house: House, actor: Actor, token: str, *, now: datetime) -> None:
    """Confirm as the second person that the task was done as ticked."""
    require(actor, May.SIGN_OFF)
    with noted_refusals(house, actor, f"sign-off {token}", now=now), house.write() as connection:
        row = _find(connection, actor, token, lock=True)
        require_may_second(row.state, row.person_id, row.assessor_id, actor.person_id)
        signoffs.change_sign_off(
            connection,
            row.id,
            state=SignOffState.DONE.value,
            second_id=actor.person_id,
            confirmed_at=now,
        )
        note(
            connection,
            actor,
            Action.SIGN_OFF_CONFIRMED,
            f"sign-off {token}",
            now=now,
            person=row.person_id,
            task=row.task,
        )


def listed(house: House, actor: Actor) -> tuple[tuple[StoredSignOff, str], ...]:
    """Return the shop's sign-offs with their tasks' titles, the newest first."""
    require(actor, May.SIGN_OFF)
    with house.read() as connection:
        rows = signoffs.sign_offs_of(connection, shop_id=actor.shop_id)
        return tuple((row, _task(connection, row)[0].title) for row in rows)


def picture(house: House, actor: Actor, token: str, picture_id: int) -> tuple[str, bytes]:
    """Return a picture of a sign-off: for assessors of the shop, and the candidate."""
    with house.read() as connection:
        row = signoffs.find_sign_off(connection, token)
        mine = row is not None and owns(actor, row.person_id)
        if not mine:
            require(actor, May.SIGN_OFF)
        found = signoffs.picture(connection, row.id, picture_id) if row else None
    if row is None or found is None or row.shop_id != actor.shop_id:
        raise NotFoundError(
            "there is no such picture here.",
            field="picture",
            value=picture_id,
            remedy="Go back to the sign-off.",
        )
    return found


def tasks_done(connection: Connection, version_id: int, person_id: int) -> frozenset[str]:
    """Return the tasks of a version that a person has passed, with every signature they need.

    What counts is the latest finished assessment of each task: one failed later undoes it.
    """
    held = schemes.find_version(connection, version_id)
    if held is None:  # pragma: no cover - a foreign key holds it
        raise LookupError(version_id)
    tasks = {task.id: task for task in from_text(held.terms).tasks}
    latest: dict[str, StoredSignOff] = {}
    for row in signoffs.sign_offs_of(connection, person_id=person_id, scheme_id=held.scheme_id):
        if row.version_id == version_id and row.state is not SignOffState.OPEN:
            latest.setdefault(row.task, row)
    return frozenset(
        task_id
        for task_id, row in latest.items()
        if task_id in tasks and row.passed and row.state is SignOffState.DONE
    )


def _find(connection: Connection, actor: Actor, token: str, *, lock: bool = False) -> StoredSignOff:
    row = signoffs.find_sign_off(connection, token, lock=lock)
    if row is None or row.shop_id != actor.shop_id:
        raise NotFoundError(
            "there is no such sign-off here.",
            field="sign-off",
            value=token[:40],
            remedy="Go to the list of sign-offs.",
        )
    return row


def _task(connection: Connection, row: StoredSignOff) -> tuple[Task, str]:
    held = schemes.find_version(connection, row.version_id)
    if held is None:  # pragma: no cover - a foreign key holds it
        raise LookupError(row.version_id)
    terms = from_text(held.terms)
    return terms.task(row.task), terms.title


def _redrawn(pictures: Collection[bytes]) -> list[tuple[bytes, str]]:
    """Return the pictures drawn anew, without what was hidden in them."""
    if len(pictures) > MOST_PICTURES:
        raise InputError(
            "too many pictures.",
            field="pictures",
            value=len(pictures),
            remedy=f"At most {MOST_PICTURES}.",
        )
    kept = []
    for content in pictures:
        drawn, kind, _ = redrawn(content)
        kept.append((drawn, "image/jpeg" if kind == "jpg" else "image/png"))
    return kept
