"""What must hold before a practice question is shown, answered or looked back on."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.offers import OPEN_FOR, is_stale
from quizsvc.rules.permissions import owns
from quizsvc.services.recipes import replaced
from quizsvc.store import offers
from quizsvc.store.answer_path import Answerable, find_answerable
from quizsvc.store.held_back import items_held_back, sits_a_timed_test
from quizsvc.store.offers import StoredOffer, StoredResponse

TOKEN_BYTES = 16  # 128 bits, as 32 hex digits


def own_offer(
    connection: Connection, actor: Actor, token: str
) -> tuple[StoredOffer, StoredResponse | None]:
    """Return an offer of the actor's own; another person's looks like none at all.

    Raises:
        ConflictError: the actor sits a timed test; nothing of practice is shown meanwhile.
    """
    refuse_during_a_test(connection, actor)
    found = offers.find_with_response(connection, token) if _could_be_token(token) else None
    if found is None or not owns(actor, found[0].person_id):
        raise _none_of_yours(token)
    return found


def answerable(connection: Connection, actor: Actor, token: str, *, now: datetime) -> Answerable:
    """Return an offer of the actor's own with all that marking needs; answered ones too.

    Raises:
        NotFoundError: no such offer, or another person's.
        ConflictError: a test stands in the way, or the question is stale or withdrawn.
    """
    found = (
        find_answerable(
            connection, token, person_id=actor.person_id, shop_id=actor.shop_id, now=now
        )
        if _could_be_token(token)
        else None
    )
    if found is None or not owns(actor, found.offer.person_id):
        raise _none_of_yours(token)
    if found.sits_a_timed_test:
        raise _shut()
    if found.response is None:
        _refuse_unanswerable(found, now)
    return found


def _refuse_unanswerable(found: Answerable, now: datetime) -> None:
    if found.held_back:
        raise _held_back()
    refuse_stale(found.offer, now)
    if found.withdrawn:
        raise replaced()


def _none_of_yours(token: str) -> NotFoundError:
    return NotFoundError(
        "there is no such question for you.",
        field="question",
        value=token[:40],
        remedy="Go back to practice and take the next one.",
    )


def _could_be_token(token: str) -> bool:
    return len(token) == 2 * TOKEN_BYTES and token.isascii() and token.isalnum()


def refuse_stale(offered: StoredOffer, now: datetime) -> None:
    if is_stale(offered.made_at, now):
        raise ConflictError(
            f"this question was put to you more than {OPEN_FOR.days} days ago.",
            field="question",
            value=offered.made_at.date().isoformat(),
            remedy="Take the next one; nothing was counted.",
        )


def refuse_held_back(
    connection: Connection, actor: Actor, offered: StoredOffer, now: datetime
) -> None:
    if offered.item_ref in items_held_back(connection, actor.shop_id, now=now):
        raise _held_back()


def _held_back() -> ConflictError:
    return ConflictError(
        "a test that is not over yet asks this question too.",
        field="question",
        value="held back",
        remedy="Look again when the test is over; your answer stands.",
    )


def refuse_during_a_test(connection: Connection, actor: Actor) -> None:
    """Keep practice and its answers shut while the actor sits a timed test.

    Raises:
        ConflictError: they do.
    """
    if sits_a_timed_test(connection, actor.person_id):
        raise _shut()


def _shut() -> ConflictError:
    return ConflictError(
        "you are sitting a test; practice opens again when it has ended.",
        field="practice",
        value="shut",
        remedy="Go back to the test.",
    )
