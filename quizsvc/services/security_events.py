"""Security events: lines in the log about signing in, refusals and changes of secrets.

A line holds the event, the number of a person where one is known, and a stand-in for the address
asked from: no name, no address, nothing typed. Time (UTC) and request id are added by the logger.
"""

from __future__ import annotations

import hmac
from contextvars import ContextVar
from enum import StrEnum
from hashlib import sha256

import structlog

STAND_IN_LENGTH = 16  # hex digits: enough to tell addresses apart, of no use without the secret
_log = structlog.get_logger("quizsvc.security")
_asked_from: ContextVar[str] = ContextVar("asked_from", default="")


class Event(StrEnum):
    """What is told. DEVELOPERS.md lists these for whoever watches the log."""

    SIGNED_IN = "signed in"
    SIGN_IN_FAILED = "sign-in failed"
    SIGN_IN_BRAKED = "sign-in braked"
    CODE_AWAITED = "code awaited"
    CODE_FAILED = "code failed"
    SIGNED_OUT = "signed out"
    PASSWORD_CHANGED = "password changed"  # noqa: S105 - a word of the vocabulary
    PASSWORD_REFUSED = "password not confirmed"  # noqa: S105 - a word of the vocabulary
    SECOND_FACTOR_CHANGED = "second factor changed"
    SESSIONS_ENDED = "sessions ended"
    ACCESS_REFUSED = "access refused"
    NOTHING_FOUND = "nothing found for this person"
    FORM_REFUSED = "form refused"
    HOST_REFUSED = "host refused"
    SLOWED = "slowed down"


REFUSALS = frozenset(Event) - {
    Event.SIGNED_IN,
    Event.CODE_AWAITED,
    Event.SIGNED_OUT,
    Event.PASSWORD_CHANGED,
    Event.SECOND_FACTOR_CHANGED,
}


def tell(event: Event, *, person: int | None = None, **ids: str | int) -> None:
    """Write a line about the event; a refusal is a warning, all else is information."""
    level = _log.warning if event in REFUSALS else _log.info
    level(event.value, person=person, asked_from=_asked_from.get(), **ids)


def asked_from(address: str, secret: str) -> None:
    """Keep a stand-in for the address for the lines of this request."""
    keyed = hmac.new(secret.encode(), f"asked from\x1f{address}".encode(), sha256)
    _asked_from.set(keyed.hexdigest()[:STAND_IN_LENGTH])
