"""What is kept about people, why, and who may see it: said once, from the policy itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from quizsvc.rules.actors import Role
from quizsvc.rules.permissions import POLICY, May
from quizsvc.rules.retention import Kind


@dataclass(frozen=True, slots=True)
class Kept:
    """A kind of data: what, for what, by which right others see it, and what erasing does."""

    what: str
    purpose: str
    seen_with: tuple[May, ...]  # besides oneself; empty: nobody else
    erased: str
    retention: tuple[Kind, ...] = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """A kind of data with the roles that see it, as the policy says now."""

    kept: Kept
    roles: tuple[Role, ...]


KEPT: tuple[Kept, ...] = (
    Kept(
        "Name, sign-in name, roles, classes and shift",
        "To know who is who, and what each may do.",
        (May.KEEP_PEOPLE, May.KEEP_CLASSES),
        "Emptied or removed.",
        (Kind.PEOPLE, Kind.INVITATIONS),
    ),
    Kept(
        "Sessions: when and from which address somebody signed in",
        "To sign out everywhere, and to slow down guessing.",
        (),
        "Removed.",
        (Kind.SESSIONS, Kind.FAILURES),
    ),
    Kept(
        "Whether a second factor is on, since when, and its secret, sealed",
        "To ask for a code beside the password. The secret itself is shown to nobody again.",
        (May.KEEP_PEOPLE,),
        "Removed.",
    ),
    Kept(
        "Answers, wrong ideas shown, and what is believed of each topic",
        "To choose useful questions and to see what to teach again.",
        (May.SEE_CLASS_RECORDS, May.SEE_SHOP_RECORDS),
        "Answers stay without a name, since questions are calibrated on them; the rest is removed.",
        (Kind.SCANS,),
    ),
    Kept(
        "Readiness for jobs",
        "To plan who does what. Computed when read; it is never kept.",
        (May.SEE_READINESS,),
        "There is nothing to erase.",
    ),
    Kept(
        "Tests, sign-offs with notes and pictures, decisions and appeals",
        "To certify fairly, and to settle a dispute.",
        (May.SEE_CERTIFICATION,),
        "Notes, pictures and words are removed; results stay without a name.",
        (Kind.PICTURES,),
    ),
    Kept(
        "Certificates",
        "To prove what somebody can do. Whoever is given the address sees name, scheme and dates.",
        (May.SEE_CERTIFICATION, May.KEEP_CERTIFICATES),
        "The name and the signed text are removed here; a file its holder keeps still verifies.",
    ),
    Kept(
        "Revisions of engine sheets somebody says they read",
        "To know who works from the newest data.",
        (May.SEE_READINESS,),
        "Stay without a name.",
    ),
    Kept(
        "Messages to people, and files handed in for work in the background",
        "To remind people, and to read in files.",
        (),
        "Emptied.",
        (Kind.MESSAGES, Kind.WORK),
    ),
    Kept(
        "The audit log: who did what when, by number only",
        "To show that nothing was changed behind anybody's back.",
        (May.READ_AUDIT,),
        "Stays whole: it holds numbers, no names.",
    ),
)


def who_sees(policy: Mapping[May, frozenset[Role]] = POLICY) -> tuple[Seen, ...]:
    """Return every kind of data with the roles that see it by the policy."""
    return tuple(
        Seen(kept, tuple(r for r in Role if any(r in policy[may] for may in kept.seen_with)))
        for kept in KEPT
    )


def deeds_of(
    policy: Mapping[May, frozenset[Role]] = POLICY,
) -> tuple[tuple[str, tuple[bool, ...]], ...]:
    """Return every deed of the policy, and for each role whether it may."""
    return tuple(
        (may.value, tuple(role in roles for role in Role)) for may, roles in policy.items()
    )
