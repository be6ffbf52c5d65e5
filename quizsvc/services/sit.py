"""Take an assignment: what is due, begin, save, come back, hand in.

``place`` is a secret of the one place a person sits at (their sign-in there); ``now`` is steady
time (`quizsvc.services.steady`). Answers are acknowledged only once they are on disk.
"""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Feedback, Standing, why_not_begin
from quizsvc.rules.permissions import May, owns, require
from quizsvc.rules.sittings import FINISHED, RUNNING, Deed, State, after
from quizsvc.services import finishing
from quizsvc.services.frozen_items import thaw
from quizsvc.services.house import House
from quizsvc.services.laying_out import keep, lay_out
from quizsvc.services.sitting_words import Saved, Saving
from quizsvc.store import assignments, sittings
from quizsvc.store.assignments import StoredAssignment
from quizsvc.store.sittings import Sitting, StoredSitting, StoredSittingItem

TOKEN_BYTES = 16  # 128 bits, as 32 hex digits
LONGEST_TYPED = 4000  # characters of JSON
SHORTEST_KEY, LONGEST_KEY = 16, 100
_MINUTE_MS = 60_000


@dataclass(frozen=True, slots=True)
class Held:
    """A sitting of the actor's own with its assignment."""

    sitting: StoredSitting
    assignment: StoredAssignment


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
        if running := _running(tries):
            return running.token
        _refuse_beginning(assignment, tries, code, now)
        laid = lay_out(connection, house, assignment)
        extra = assignments.extra_minutes_of(connection, assignment_id, actor.person_id)
    with house.write() as connection:
        tries = sittings.sittings_of(connection, assignment_id, actor.person_id)
        if running := _running(tries):
            return running.token
        _refuse_beginning(assignment, tries, code, now)  # somebody may have been quicker
        token = secrets.token_hex(TOKEN_BYTES)
        minutes = None if assignment.minutes is None else assignment.minutes + extra
        new = sittings.add_if_new(
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
        begun = _running(sittings.sittings_of(connection, assignment_id, actor.person_id))
        if begun is None:
            raise ConflictError("this try was begun and ended meanwhile.", remedy="Look again.")
        if new:
            keep(connection, begun.id, laid)
    return begun.token


def save(
    house: House,
    actor: Actor,
    token: str,
    number: int,
    saving: Saving,
    *,
    place: str,
    now: datetime,
) -> Saved:
    """Store an answer; when this returns it is on disk. The same key gives the same again.

    Raises:
        ConflictError: the time is over, it is paused, it is open at another place, a newer
            answer is saved, or the key was used for another answer.
        InputError: key or fields are unusable.
        NotFoundError: no such sitting or question, or another person's.
    """
    typed = _typed_text(saving)
    payload = sha256(f"{number}\x1f{saving.sequence}\x1f{typed}".encode()).hexdigest()
    settle(house, actor, token, now=now)
    with house.read() as connection:
        held = own(connection, actor, token)
        stored = item_at(connection, held.sitting, number)
        item = thaw(sittings.content_of(connection, stored.shown_hash))
    _, note = finishing.readable(item, stored.seed, saving.given)
    with house.write() as connection:
        held = own(connection, actor, token, lock=True)
        replayed = _replayed(connection, held.sitting, number, saving.key, payload)
        if replayed is None:
            replayed = _store(connection, held, number, saving, typed, payload, place, now)
        return _acknowledged(connection, held.sitting, number, *replayed, note=note, now=now)


def look_again(
    house: House, actor: Actor, token: str, number: int, *, wanted: bool, place: str, now: datetime
) -> None:
    """Mark a question to look at again, or take the mark away."""
    settle(house, actor, token, now=now)
    with house.write() as connection:
        held = own(connection, actor, token, lock=True)
        _require_here(held.sitting, place)
        after(held.sitting.state, Deed.SAVE)
        item_at(connection, held.sitting, number)
        sittings.change_item(connection, held.sitting.id, number, look_again=wanted)


def check(
    house: House, actor: Actor, token: str, number: int, *, place: str, now: datetime
) -> None:
    """Mark one question now, where feedback follows each; its answer stands from then on."""
    settle(house, actor, token, now=now)
    with house.write() as connection:
        held = own(connection, actor, token, lock=True)
        _require_here(held.sitting, place)
        after(held.sitting.state, Deed.SAVE)
        if held.assignment.feedback is not Feedback.EACH:
            raise NotAllowedError(
                "what is right is not told yet.", remedy="Hand in first; then look."
            )
        stored = item_at(connection, held.sitting, number)
        if stored.given is None and stored.marked_at is None:
            raise InputError(
                "there is no whole answer to check yet.",
                field="answer",
                value="",
                remedy="Answer the question, then check it.",
            )
        finishing.mark_one(connection, held.assignment, held.sitting, number, now=now)


def take_place(house: House, actor: Actor, token: str, *, place: str, now: datetime) -> None:
    """Continue here; at the place where it was open before, nothing can be saved any more."""
    settle(house, actor, token, now=now)
    with house.write() as connection:
        held = own(connection, actor, token, lock=True)
        after(held.sitting.state, Deed.TURN_PLACE)
        if held.sitting.place_hash != hashed(place):
            sittings.change_sitting(
                connection, held.sitting.id, place_hash=hashed(place), place_since=now, last_at=now
            )


def hand_in(house: House, actor: Actor, token: str, *, now: datetime) -> None:
    """Hand in; doing so again changes nothing. It may be done from any place."""
    settle(house, actor, token, now=now)
    with house.write() as connection:
        held = own(connection, actor, token, lock=True)
        if held.sitting.state not in FINISHED:
            finishing.finish(connection, held.assignment, held.sitting, Deed.HAND_IN, now=now)
    count_told(house, held.assignment.id, now=now)


def settle(house: House, actor: Actor, token: str, *, now: datetime) -> Held:
    """Close the sitting if its time is over, then return it as it stands."""
    with house.read() as connection:
        held = own(connection, actor, token)
    if not finishing.is_over(held.assignment, held.sitting, now):
        return held
    close_if_over(house, token, now=now)
    with house.read() as connection:
        return own(connection, actor, token)


def settle_all(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> None:
    """Close what is over of the actor's tries at an assignment."""
    with house.read() as connection:
        assignment = assignments.find_assignment(connection, assignment_id)
        tries = sittings.sittings_of(connection, assignment_id, actor.person_id)
    for sitting in tries:
        if assignment is not None and finishing.is_over(assignment, sitting, now):
            close_if_over(house, sitting.token, now=now)


def close_if_over(house: House, token: str, *, now: datetime) -> bool:
    """Close a sitting whose time is over; return whether this call did it."""
    with house.write() as connection:
        sitting = sittings.find_sitting(connection, token, lock=True)
        if sitting is None:
            return False
        assignment = assignments.find_assignment(connection, sitting.assignment_id)
        if assignment is None or not finishing.is_over(assignment, sitting, now):
            return False
        finishing.finish(connection, assignment, sitting, Deed.CLOSE, now=now)
    count_told(house, assignment.id, now=now)
    return True


def count_told(house: House, assignment_id: int, *, now: datetime) -> None:
    """Put into the records what may be told by now of an assignment.

    In a transaction of its own that locks the assignment first: two people who hand in at once
    would otherwise wait for each other's sitting.
    """
    with house.write() as connection:
        assignment = assignments.find_assignment(connection, assignment_id, lock=True)
        if assignment is not None:
            finishing.count_told(connection, assignment, now=now)


def close_all_over(house: House, *, now: datetime) -> int:
    """Close every sitting whose time is over, with nobody connected; return how many."""
    with house.read() as connection:
        due = sittings.running_and_due(connection, now=now)
        timed = sittings.running_timed(connection)
    over = [one for one in timed if one.clock.is_past_grace(now)]
    return sum(close_if_over(house, one.token, now=now) for one in (*over, *due))


def count_all_told(house: House, *, now: datetime) -> int:
    """Put answers into the records whose test has ended for everybody; return how many tests."""
    with house.read() as connection:
        waiting = {one.assignment_id for one in sittings.uncounted(connection)}
    for assignment_id in sorted(waiting):
        count_told(house, assignment_id, now=now)
    with house.read() as connection:
        left = {one.assignment_id for one in sittings.uncounted(connection)}
    return len(waiting - left)


def own(connection: Connection, actor: Actor, token: str, *, lock: bool = False) -> Held:
    """Return a sitting of the actor's own; another person's looks like none at all."""
    usable = len(token) == 2 * TOKEN_BYTES and token.isascii() and token.isalnum()
    sitting = sittings.find_sitting(connection, token, lock=lock) if usable else None
    if sitting is None or not owns(actor, sitting.person_id):
        raise NotFoundError(
            "there is no such sitting for you.",
            field="sitting",
            value=token[:40],
            remedy="Go to the list of what is due.",
        )
    assignment = assignments.find_assignment(connection, sitting.assignment_id)
    if assignment is None:  # pragma: no cover - a foreign key holds it
        raise LookupError(token)
    return Held(sitting, assignment)


def given_to(connection: Connection, actor: Actor, assignment_id: int) -> StoredAssignment:
    """Return an assignment that is given to the actor; any other looks like none at all."""
    for assignment in assignments.assignments_for(connection, actor.person_id, actor.shop_id):
        if assignment.id == assignment_id:
            return assignment
    raise NotFoundError(
        "there is no such assignment for you.",
        field="assignment",
        value=assignment_id,
        remedy="Go to the list of what is due.",
    )


def item_at(connection: Connection, sitting: StoredSitting, number: int) -> StoredSittingItem:
    stored = sittings.find_item(connection, sitting.id, number)
    if stored is None:
        raise NotFoundError(
            "there is no such question.", field="question", value=number, remedy="Choose another."
        )
    return stored


def hashed(place: str) -> str:
    return sha256(f"place\x1f{place}".encode()).hexdigest()


def standing_of(assignment: StoredAssignment, tries: tuple[StoredSitting, ...]) -> Standing:
    return Standing(
        assignment.issue,
        assignment.opens_at,
        assignment.due_at,
        assignment.tries - len(tries),
        running=_running(tries) is not None,
    )


def _running(tries: tuple[StoredSitting, ...]) -> StoredSitting | None:
    return next((one for one in tries if one.state in RUNNING), None)


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


def _typed_text(saving: Saving) -> str:
    """Return the fields as JSON of one form."""
    if not SHORTEST_KEY <= len(saving.key) <= LONGEST_KEY:
        raise InputError(
            "a save needs a key of its own.",
            field="key",
            value=saving.key[:20],
            remedy="Load the page again and answer once more.",
        )
    if not 0 < saving.sequence < 1_000_000_000:
        raise InputError(
            "the number of this change cannot be right.",
            field="sequence",
            value=saving.sequence,
            remedy="Load the page again and answer once more.",
        )
    text = json.dumps(saving.typed, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    if len(text) > LONGEST_TYPED:
        raise InputError(
            "that is longer than any answer.",
            field="answer",
            value=f"{len(text)} characters",
            remedy="Write less.",
        )
    return text


def _replayed(
    connection: Connection, sitting: StoredSitting, number: int, key: str, payload: str
) -> tuple[int, datetime] | None:
    """Return sequence and time of the save this key stands for, or None if it is new."""
    known = sittings.find_save(connection, sitting.id, _key_hash(key))
    if known is None:
        return None
    if known.payload_hash != payload or known.number != number:
        raise ConflictError(
            "this request was sent before with another answer; that one is kept.",
            field="key",
            value=key[:8] + "…",
            remedy="Load the page again to see what is saved.",
        )
    return known.sequence, known.saved_at


def _store(
    connection: Connection,
    held: Held,
    number: int,
    saving: Saving,
    typed: str,
    payload: str,
    place: str,
    now: datetime,
) -> tuple[int, datetime]:
    sitting = held.sitting
    if sitting.state not in FINISHED:
        _require_here(sitting, place)
    after(sitting.state, Deed.SAVE)
    if not finishing.takes_answers(held.assignment, sitting, now):
        raise ConflictError(
            "the time is over; this answer came too late.",
            field="sitting",
            value=sitting.state.value,
            remedy="What was saved before counts.",
        )
    stored = item_at(connection, sitting, number)
    _refuse_stale(stored, saving.sequence)
    sittings.change_item(
        connection,
        sitting.id,
        number,
        typed=typed,
        given=finishing.given_text(saving.given),
        sequence=saving.sequence,
        saved_at=now if saving.typed else None,
    )
    sittings.change_sitting(connection, sitting.id, last_at=now)
    sittings.add_save(
        connection,
        sitting_id=sitting.id,
        key_hash=_key_hash(saving.key),
        number=number,
        sequence=saving.sequence,
        payload_hash=payload,
        typed=typed,
        saved_at=now,
    )
    return saving.sequence, now


def _refuse_stale(stored: StoredSittingItem, sequence: int) -> None:
    if stored.marked_at is not None:
        raise ConflictError(
            "this question was checked; its answer stands.",
            field="question",
            value=stored.number,
            remedy="Go on with another.",
        )
    if sequence <= stored.sequence:
        raise ConflictError(
            "a newer answer to this question is saved, perhaps from another tab.",
            field="sequence",
            value=sequence,
            remedy="Load the page again to see it; it is kept.",
        )


def _require_here(sitting: StoredSitting, place: str) -> None:
    if sitting.place_hash != hashed(place):
        raise ConflictError(
            f"this was continued at another place at {sitting.place_since:%H:%M} UTC; "
            "nothing is saved from here any more.",
            field="place",
            value="this one",
            remedy="Load the page again and choose to continue here, or go on over there.",
        )


def _acknowledged(
    connection: Connection,
    sitting: StoredSitting,
    number: int,
    sequence: int,
    saved_at: datetime,
    *,
    note: str,
    now: datetime,
) -> Saved:
    items = sittings.items_of(connection, sitting.id)
    return Saved(
        number,
        sequence,
        saved_at,
        answered=sum(one.saved_at is not None for one in items),
        questions=len(items),
        left=sitting.clock.left(now),
        note=note,
    )


def _key_hash(key: str) -> str:
    return sha256(f"save\x1f{key}".encode()).hexdigest()
