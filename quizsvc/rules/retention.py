"""How long what is kept about people is kept, and what then happens to it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum


class Kind(StrEnum):
    """What a rule is about."""

    SESSIONS = "sessions"
    FAILURES = "failed sign-ins"
    INVITATIONS = "invitations"
    MESSAGES = "messages"
    WORK = "background work"
    SCANS = "scans of answer sheets"
    PICTURES = "pictures of hands-on work"
    PEOPLE = "people who left"


@dataclass(frozen=True, slots=True)
class RetentionRule:
    """``days`` count from the end of its use: signed out, used, sent, read, confirmed, left."""

    kind: Kind
    days: int
    then: str
    why: str


# Local law and contracts come first; these are defaults, common practice, no source.
RULES: tuple[RetentionRule, ...] = (
    RetentionRule(Kind.SESSIONS, 30, "removed", "They show from where somebody signed in."),
    RetentionRule(Kind.FAILURES, 1, "removed", "They only slow down guessing."),
    RetentionRule(Kind.INVITATIONS, 180, "removed", "Used or ended, they only hold a name."),
    RetentionRule(Kind.MESSAGES, 180, "emptied", "That they were sent stays, not what they said."),
    RetentionRule(Kind.WORK, 90, "emptied", "A file that was read in may hold names."),
    RetentionRule(Kind.SCANS, 365, "removed", "Handwriting; the answers read from it stay."),
    RetentionRule(
        Kind.PICTURES, 5 * 365, "removed", "Evidence of hands-on work for as long as disputes last."
    ),
    RetentionRule(
        Kind.PEOPLE,
        3 * 365,
        "erased",
        "In no shop, no certificate that is valid, and not heard of since.",
    ),
)


def cutoff(rule: RetentionRule, now: datetime) -> datetime:
    """Return the moment before which what the rule is about is kept no longer."""
    return now - timedelta(days=rule.days)


def rule_for(kind: Kind) -> RetentionRule:
    """Return the rule of a kind.

    >>> rule_for(Kind.SESSIONS).days
    30
    """
    return next(rule for rule in RULES if rule.kind is kind)
