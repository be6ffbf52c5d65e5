"""Save answers and marks at the place where a sitting is open.

``now`` is steady time (`quizsvc.services.steady`). Answers are acknowledged only once they are on
disk.
"""

from __future__ import annotations

import json
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotAllowedError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Feedback
from quizsvc.rules.sittings import FINISHED, Deed, after
from quizsvc.services.house import House
from quizsvc.services.sitting import finishing
from quizsvc.services.sitting.closing import settle
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.services.sitting.one_place import require_here
from quizsvc.services.sitting.own_sittings import Held, item_at, own
from quizsvc.services.sitting.words import Saved, Saving
from quizsvc.store import shown_items, sitting_items, sittings
from quizsvc.store.sitting_items import StoredSittingItem
from quizsvc.store.sittings import StoredSitting

LONGEST_TYPED = 4000  # characters of JSON
SHORTEST_KEY, LONGEST_KEY = 16, 100


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
        item = thaw(shown_items.content_of(connection, stored.shown_hash))
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
        require_here(held.sitting, place)
        after(held.sitting.state, Deed.SAVE)
        item_at(connection, held.sitting, number)
        sitting_items.change_item(connection, held.sitting.id, number, look_again=wanted)


def check(
    house: House, actor: Actor, token: str, number: int, *, place: str, now: datetime
) -> None:
    """Mark one question now, where feedback follows each; its answer stands from then on."""
    settle(house, actor, token, now=now)
    with house.write() as connection:
        held = own(connection, actor, token, lock=True)
        require_here(held.sitting, place)
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
    known = sitting_items.find_save(connection, sitting.id, _key_hash(key))
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
        require_here(sitting, place)
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
    sitting_items.change_item(
        connection,
        sitting.id,
        number,
        typed=typed,
        given=finishing.given_text(saving.given),
        sequence=saving.sequence,
        saved_at=now if saving.typed else None,
    )
    sittings.change_sitting(connection, sitting.id, last_at=now)
    sitting_items.add_save(
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
    items = sitting_items.items_of(connection, sitting.id)
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
