"""The life of a certificate: when it is valid, and what may be done to it in each state."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from quizsvc.errors import ConflictError, InputError

REMIND_DAYS = (60, 14)  # before the end


class CertificateState(StrEnum):
    VALID = "valid"
    EXPIRED = "expired"
    SUSPENDED = "suspended"
    REVOKED = "revoked"


class CertificateDeed(StrEnum):
    ISSUED = "issued"
    RENEWED = "renewed"
    SUSPENDED = "suspended"
    REINSTATED = "reinstated"
    REVOKED = "revoked"


@dataclass(frozen=True, slots=True)
class Life:
    """The moments that decide; ``valid_until`` None: it does not end by itself."""

    issued_at: datetime
    valid_until: datetime | None = None
    suspended_at: datetime | None = None
    revoked_at: datetime | None = None


def state_at(life: Life, now: datetime) -> CertificateState:
    """Return where a certificate stands; the gravest state rules.

    >>> from datetime import UTC
    >>> start = datetime(2026, 3, 1, tzinfo=UTC)
    >>> state_at(Life(start, months_after(start, 24)), datetime(2028, 3, 1, tzinfo=UTC)).value
    'expired'
    """
    if life.revoked_at is not None:
        return CertificateState.REVOKED
    if life.valid_until is not None and now >= life.valid_until:
        return CertificateState.EXPIRED
    if life.suspended_at is not None:
        return CertificateState.SUSPENDED
    return CertificateState.VALID


_BEFORE = {
    CertificateDeed.SUSPENDED: frozenset({CertificateState.VALID}),
    CertificateDeed.REINSTATED: frozenset({CertificateState.SUSPENDED}),
    CertificateDeed.REVOKED: frozenset(
        {CertificateState.VALID, CertificateState.SUSPENDED, CertificateState.EXPIRED}
    ),
    CertificateDeed.RENEWED: frozenset({CertificateState.VALID, CertificateState.EXPIRED}),
}


def possible(life: Life, now: datetime) -> frozenset[CertificateDeed]:
    """Return what may be done to it now, whoever does it."""
    state = state_at(life, now)
    return frozenset(deed for deed, before in _BEFORE.items() if state in before)


def require_possible(deed: CertificateDeed, life: Life, now: datetime) -> None:
    state = state_at(life, now)
    if state not in _BEFORE[deed]:
        raise ConflictError(
            f"a certificate that is {state.value} can't be {deed.value}.",
            field="certificate",
            value=state.value,
            remedy="Load the page again to see how it stands.",
        )


def require_reason(reason: str) -> str:
    """Return the reason for suspension or revocation in plain form.

    Raises:
        InputError: it says nothing, or too much.
    """
    words = " ".join(reason.split())
    if not 5 <= len(words) <= 500:
        raise InputError(
            "a reason has from 5 to 500 characters.",
            field="reason",
            value=words[:40],
            remedy="Say why, in a sentence; no more about the person than needed.",
        )
    return words


def months_after(start: datetime, months: int) -> datetime:
    """Return the same day so many months later, the last of the month where there is no such.

    >>> months_after(datetime(2024, 2, 29), 12)
    datetime.datetime(2025, 2, 28, 0, 0)
    """
    year, month = divmod(start.month - 1 + months, 12)
    year, month = start.year + year, month + 1
    day = min(start.day, calendar.monthrange(year, month)[1])
    return start.replace(year=year, month=month, day=day)


def may_renew_from(life: Life, renew_from_days: int) -> datetime | None:
    """Return from when a certificate may be renewed; None: it never ends."""
    if life.valid_until is None:
        return None
    return life.valid_until - timedelta(days=renew_from_days)
