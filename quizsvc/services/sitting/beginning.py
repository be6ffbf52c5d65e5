"""Begin a try at an assignment."""

from __future__ import annotations

import secrets
from datetime import datetime

from quizsvc.errors import ConflictError, NotAllowedError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import why_not_begin
from quizsvc.rules.permissions import May, require
from quizsvc.rules.sittings import Deed, State, after
from quizsvc.services.house import House
from quizsvc.services.sitting.closing import settle_all
from quizsvc.services.sitting.laying_out import keep, lay_out
from quizsvc.services.sitting.one_place import hashed
from quizsvc.services.sitting.own_sittings import TOKEN_BYTES, given_to, running_of, standing_of
from quizsvc.store import adding, assignment_people, sittings
from quizsvc.store.assignments import StoredAssignment
from quizsvc.store.sittings import Sitting, StoredSitting

_MINUTE_MS = 60_000


def begin(
    house: House, actor: Actor, assignment_id: int, *, code: str = "", place: str, now: datetime
) -> str:
    """Begin a try and return its token; while one is running return that one's.

    Raises:
        NotFoundError: it is not given to the actor.
        ConflictError: it cannot be begun now; says why.
        NotAllowedError: it is started by a code, and this is not the code.
    """
    require(actor, May.PRACTISE)
    settle_all(house, actor, assignment_id, now=now)
    with house.read() as connection:
        assignment = given_to(connection, actor, assignment_id)
        tries = sittings.sittings_of(connection, assignment_id, actor.person_id)
        if running := running_of(tries):
            return running.token
        _refuse_beginning(assignment, tries, code, now)
        laid = lay_out(connection, house, assignment)
        extra = assignment_people.extra_minutes_of(connection, assignment_id, actor.person_id)
    with house.write() as connection:
        tries = sittings.sittings_of(connection, assignment_id, actor.person_id)
        if running := running_of(tries):
            return running.token
        _refuse_beginning(assignment, tries, code, now)  # somebody may have been quicker
        token = secrets.token_hex(TOKEN_BYTES)
        minutes = None if assignment.minutes is None else assignment.minutes + extra
        new = adding.add_if_new(
            connection,
            Sitting,
            token=token,
            assignment_id=assignment_id,
            person_id=actor.person_id,
            shop_id=actor.shop_id,
            nth=len(tries) + 1,
            state=after(State.LAID_OUT, Deed.BEGIN).value,
            place_hash=hashed(place),
            place_since=now,
            opened_at=now,
            allowed_ms=None if minutes is None else minutes * _MINUTE_MS,
            added_ms=0,
            paused_ms=0,
            last_at=now,
        )
        begun = running_of(sittings.sittings_of(connection, assignment_id, actor.person_id))
        if begun is None:
            raise ConflictError("this try was begun and ended meanwhile.", remedy="Look again.")
        if new:
            keep(connection, begun.id, laid)
    return begun.token


def _refuse_beginning(
    assignment: StoredAssignment, tries: tuple[StoredSitting, ...], code: str, now: datetime
) -> None:
    if why := why_not_begin(standing_of(assignment, tries), now):
        raise ConflictError(
            why, field="assignment", value=assignment.title, remedy="Ask your instructor."
        )
    if assignment.invigilated and not _is_code(code, assignment.start_code):
        room = assignment.start_code is not None
        raise NotAllowedError(
            "this is not the code of the room." if room else "the room is not open yet.",
            field="code",
            value=code[:12],
            remedy="Type the code the instructor shows."
            if room
            else "Wait until the instructor opens it and shows a code.",
        )


def _is_code(typed: str, code: str | None) -> bool:
    plain = "".join(typed.split()).upper().replace("-", "")
    return code is not None and secrets.compare_digest(plain.encode(), code.encode())
