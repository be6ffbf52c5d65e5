"""Sitting down to a test, and the clock of the room while it goes on."""

from __future__ import annotations

from datetime import timedelta

from workshop import NOON

from quizsvc.services.sitting import beginning


def begin(room, actor, assignment_id, now=NOON, place="desk", code=""):
    return beginning.begin(room.house, actor, assignment_id, code=code, place=place, now=now)


def minutes(number: float):
    return NOON + timedelta(minutes=number)
