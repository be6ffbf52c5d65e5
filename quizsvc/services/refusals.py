"""Refusals in certification that are worth an entry in the audit log, beside the clear message."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime

from quizsvc.errors import ConflictError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.services.auditing import note
from quizsvc.services.house import House

LONGEST_SUBJECT = 100


@contextmanager
def noted_refusals(house: House, actor: Actor, subject: str, *, now: datetime) -> Iterator[None]:
    """Let a refusal pass, and note it in a transaction of its own: that of the deed is undone."""
    try:
        yield
    except (NotAllowedError, ConflictError, NotFoundError) as refusal:
        with house.write() as connection:
            note(
                connection,
                actor,
                Action.CERTIFICATION_REFUSED,
                subject[:LONGEST_SUBJECT],
                now=now,
                problem=refusal.problem,
            )
        raise
