"""The audit log's vocabulary, and the chain of hashes that shows tampering.

Each entry's hash covers its content and the hash before it, so that an edit, a removal or a
new order breaks the chain; the head kept apart shows a cut-off tail.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from hashlib import sha256

START = "0" * 64  # stands before the first entry


class Action(StrEnum):
    """What is worth an entry."""

    SHOP_MADE = "shop made"
    PERSON_ADDED = "person added"
    ROLE_GIVEN = "role given"
    ROLE_TAKEN = "role taken"
    PASSWORD_CHANGED = "password changed"  # noqa: S105 - a word of the vocabulary
    SESSIONS_ENDED = "sessions ended"
    PERSON_DEACTIVATED = "person deactivated"
    SHEET_STORED = "sheet stored"
    BANK_LOADED = "bank loaded"
    PERSON_REACTIVATED = "person reactivated"
    PERSON_INVITED = "person invited"
    INVITATION_USED = "invitation used"
    SHOP_LEFT = "shop left"
    CLASS_CHANGED = "class changed"
    ROSTER_READ = "roster read"
    ASSIGNMENT_ISSUED = "assignment issued"
    ASSIGNMENT_WITHDRAWN = "assignment withdrawn"
    TEST_PAUSED = "test paused"
    TEST_WENT_ON = "test went on"
    TIME_ADDED = "time added"
    SITTING_CLOSED = "sitting closed"
    QUESTION_VOIDED = "question voided"
    ANSWERS_RELEASED = "answers released"
    BANK_MADE = "bank made"
    ITEM_WRITTEN = "item written"
    ITEM_SENT = "item sent to review"
    ITEM_RETURNED = "item given back"
    ITEM_APPROVED = "item approved"
    ITEM_WITHDRAWN = "item withdrawn"
    ANSWERS_REMARKED = "answers marked again"
    TESTS_MARKED_AGAIN = "tests marked again"
    PICTURE_KEPT = "picture kept"
    TEST_PRINTED = "test printed"
    SHEETS_COUNTED = "answer sheets counted"
    SCHEME_DRAFTED = "scheme drafted"
    SCHEME_PUBLISHED = "scheme published"
    PANEL_OPENED = "panel opened"
    ESTIMATES_GIVEN = "estimates given"
    CUT_APPROVED = "cut score approved"
    CANDIDATE_ADMITTED = "candidate admitted"
    SIGN_OFF_BEGUN = "sign-off begun"
    SIGN_OFF_GIVEN = "sign-off given"
    SIGN_OFF_CONFIRMED = "sign-off confirmed"
    DECISION_PROPOSED = "decision proposed"
    DECISION_MADE = "decision made"
    DECISION_REPLACED = "decision replaced"
    DECISION_UPHELD = "decision upheld"
    APPEAL_FILED = "appeal filed"
    APPEAL_ANSWERED = "appeal answered"
    CERTIFICATE_ISSUED = "certificate issued"
    CERTIFICATE_SUSPENDED = "certificate suspended"
    CERTIFICATE_REINSTATED = "certificate reinstated"
    CERTIFICATE_REVOKED = "certificate revoked"
    CERTIFICATE_RENEWED = "certificate renewed"
    SIGNING_KEY_MADE = "signing key made"
    SIGNING_KEY_ENDED = "signing key ended"
    SIGNING_KEY_REVOKED = "signing key revoked"
    CERTIFICATION_REFUSED = "certification refused"
    CREDENTIAL_REFUSED = "credential refused"
    JOB_CHANGED = "job changed"
    SHIFT_CHANGED = "shift changed"
    BRIDGING_ORDERED = "bridging quiz ordered"
    RECORD_REFUSED = "record refused"
    PERSON_EXPORTED = "person exported"
    PERSON_ERASED = "person erased"
    RETENTION_KEPT = "retention rules kept"
    SECRET_CHANGED = "installation's secret changed"  # noqa: S105 - a word of the vocabulary
    SECOND_FACTOR_ON = "second factor turned on"
    SECOND_FACTOR_OFF = "second factor turned off"
    SECOND_FACTOR_RESET = "second factor reset"
    SECOND_FACTOR_ASKED = "second factor asked of roles"
    RECOVERY_CODES_MADE = "recovery codes made"
    RECOVERY_CODE_USED = "recovery code used"
    CODES_BRAKED = "many wrong codes after a right password"


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry; ``detail`` is canonical JSON without personal data."""

    number: int
    at: datetime
    actor_id: int | None
    shop_id: int | None
    action: str
    subject: str
    detail: str
    previous: str


@dataclass(frozen=True, slots=True)
class Break:
    """Where the chain does not hold, and how."""

    number: int
    problem: str


def canonical(detail: dict[str, object]) -> str:
    """Return JSON in one form only: sorted keys, no spaces."""
    return json.dumps(detail, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def entry_hash(entry: Entry) -> str:
    """Return the SHA-256 of the entry's content and the hash before it, in hex."""
    content = [
        entry.number,
        entry.at.astimezone(UTC).isoformat(timespec="microseconds"),
        entry.actor_id,
        entry.shop_id,
        entry.action,
        entry.subject,
        entry.detail,
        entry.previous,
    ]
    text = json.dumps(content, separators=(",", ":"), ensure_ascii=False)
    return sha256(text.encode()).hexdigest()


def first_break(chain: Iterable[tuple[Entry, str]], head: tuple[int, str]) -> Break | None:
    """Return where the chain of entries and stored hashes breaks first, or None if it holds."""
    number, previous = 0, START
    for entry, stored in chain:
        if entry.number != number + 1:
            return Break(number + 1, f"entry {number + 1} is missing")
        if entry.previous != previous:
            return Break(entry.number, "it does not follow the entry before it")
        if entry_hash(entry) != stored:
            return Break(entry.number, "its content was changed")
        number, previous = entry.number, stored
    if (number, previous) != head:
        return Break(number + 1, f"the log ends at {number}, its head says {head[0]}")
    return None
