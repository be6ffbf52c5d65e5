"""Open the room of a test with a code, and close it."""

from __future__ import annotations

import secrets
from datetime import datetime

from quizsvc.errors import ConflictError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Issue
from quizsvc.services.assigning.access import runs
from quizsvc.services.house import House
from quizsvc.store import assignments

# Neither 0 and O nor 1, I and L; nothing that reads as a word.
CODE_SIGNS = "BCDFGHJKMNPQRSTVWXZ23456789"
CODE_LENGTH = 6


def open_room(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> str:  # noqa: ARG001
    """Let people begin with a new code; return it."""
    code = "".join(secrets.choice(CODE_SIGNS) for _ in range(CODE_LENGTH))
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        if held.issue is not Issue.ISSUED or not held.invigilated:
            raise ConflictError(
                "this is not started by a code." if not held.invigilated else "it is not out.",
                field="assignment",
                value=held.title,
                remedy="Give out a timed test that is started by a code.",
            )
        assignments.change_assignment(connection, assignment_id, start_code=code)
    return code


def close_room(house: House, actor: Actor, assignment_id: int) -> None:
    """Let nobody begin any more; who has begun goes on."""
    with house.write() as connection:
        runs(connection, actor, assignment_id, lock=True)
        assignments.change_assignment(connection, assignment_id, start_code=None)
