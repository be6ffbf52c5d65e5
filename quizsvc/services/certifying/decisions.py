"""A decision of the actor's shop: found, given its reason, and noted in the audit log."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.services.auditing import note
from quizsvc.store import decisions
from quizsvc.store.decisions import StoredDecision

LONGEST_WORDS = 2000


def reason_in_words(words: str, *, needed: bool) -> str:
    text = " ".join(words.split())
    if (needed and not text) or len(text) > LONGEST_WORDS:
        raise InputError(
            "a reason is needed here." if needed and not text else "that is too long.",
            field="reason",
            value=text[:40],
            remedy="Say why in one or two sentences.",
        )
    return text


def find_decision(
    connection: Connection, actor: Actor, decision_id: int, *, lock: bool = False
) -> StoredDecision:
    found = decisions.find_decision(connection, decision_id, lock=lock)
    if found is None or found.shop_id != actor.shop_id:
        raise no_such_decision(decision_id)
    return found


def no_such_decision(decision_id: int) -> NotFoundError:
    return NotFoundError(
        "there is no such decision for you.",
        field="decision",
        value=decision_id,
        remedy="Go to the list of candidates.",
    )


def note_decision(
    connection: Connection,
    actor: Actor,
    action: Action,
    decision_id: int,
    now: datetime,
    **detail: int | bool,
) -> None:
    subject = f"decision {decision_id}"
    audit_detail: dict[str, object] = dict(detail)
    note(connection, actor, action, subject, now=now, shop_id=None, **audit_detail)
