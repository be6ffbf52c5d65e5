"""What a view needs to know of its surroundings: the house and the time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from flask import current_app

from quizsvc.services.house import House
from quizsvc.services.steady import steady_now

Clock = Callable[[], datetime]


@dataclass(frozen=True, slots=True)
class Surroundings:
    house: House
    clock: Clock


def utc_now() -> datetime:
    return datetime.now(UTC)


def house() -> House:
    return _surroundings().house


def now() -> datetime:
    return _surroundings().clock()


def steady() -> datetime:
    """Return the time that sittings go by, which setting the machine's clock does not move.

    A clock a test puts in is steady as it is.
    """
    surroundings = _surroundings()
    return steady_now(surroundings.house) if surroundings.clock is utc_now else surroundings.clock()


def _surroundings() -> Surroundings:
    surroundings: Surroundings = current_app.extensions["quizsvc"]
    return surroundings
