"""The brake on guessing passwords and codes: how many failures, under which keys, stop sign-in.

Three counts run side by side. One account from one address stands for someone who forgot a
password; one account from anywhere for an attack on it; one address for an attack on many.
An account that has signed in from an address before is stopped there only by its own failures
from there, so that neither an attack from elsewhere nor a guesser in the same classroom locks
its owner out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

WINDOW = timedelta(minutes=15)
KNOWN_FOR = timedelta(days=60)  # how long an address a person signed in from is remembered


@dataclass(frozen=True, slots=True)
class Limits:
    """How many failures within the window stop what is counted under each key."""

    both: int
    account: int
    source: int


PASSWORDS = Limits(both=8, account=40, source=300)
# Whoever may try codes has had the right password, so that fewer are a sign of bad faith. Three
# of a million codes are taken at a time: ten tries in a window are at best 1 in 347 a day.
CODES = Limits(both=5, account=10, source=300)


@dataclass(frozen=True, slots=True)
class Keys:
    """What failures are counted under."""

    both: str
    account: str
    source: str

    def all(self) -> list[str]:
        return [self.both, self.account, self.source]


def keys_of(sign_in_name: str, source: str) -> Keys:
    return Keys(
        f"both\x1f{sign_in_name}\x1f{source}", f"account\x1f{sign_in_name}", f"source\x1f{source}"
    )


def wait(
    keys: Keys,
    counted: Mapping[str, tuple[int, datetime]],
    *,
    known_source: bool,
    now: datetime,
    limits: Limits = PASSWORDS,
) -> timedelta | None:
    """Return how long to wait before the next attempt, or None when one is allowed now.

    ``counted`` gives failures and the start of their window by key.
    """
    stops = {keys.both: limits.both}
    if not known_source:
        stops |= {keys.account: limits.account, keys.source: limits.source}
    waits = [
        counted[key][1] + WINDOW - now
        for key, limit in stops.items()
        if key in counted and counted[key][0] >= limit
    ]
    return max((left for left in waits if left > timedelta(0)), default=None)


def minutes(span: timedelta) -> int:
    """Return a waiting time in whole minutes, rounded up."""
    return max(1, ceil(span.total_seconds() / 60))
