"""The life of a sitting: its states, what may be done in each, and what follows."""

from __future__ import annotations

from enum import StrEnum

from quizsvc.errors import ConflictError


class State(StrEnum):
    """Where a sitting stands. ``laid out``: questions are set, the clock has not started."""

    LAID_OUT = "laid out"
    OPEN = "open"
    PAUSED = "paused"
    HANDED_IN = "handed in"  # by the person
    CLOSED = "closed"  # by time, or by whoever runs the test


class Deed(StrEnum):
    BEGIN = "begin"
    SAVE = "save an answer"
    TURN_PLACE = "continue at another place"
    HAND_IN = "hand in"
    PAUSE = "pause"
    GO_ON = "go on"
    ADD_TIME = "add time"
    CLOSE = "close"


RUNNING = frozenset({State.OPEN, State.PAUSED})
FINISHED = frozenset({State.HANDED_IN, State.CLOSED})

# What is not listed is refused: no step is skipped, nothing finished is opened again.
AFTER: dict[tuple[State, Deed], State] = {
    (State.LAID_OUT, Deed.BEGIN): State.OPEN,
    (State.LAID_OUT, Deed.CLOSE): State.CLOSED,
    (State.OPEN, Deed.SAVE): State.OPEN,
    (State.OPEN, Deed.TURN_PLACE): State.OPEN,
    (State.OPEN, Deed.HAND_IN): State.HANDED_IN,
    (State.OPEN, Deed.PAUSE): State.PAUSED,
    (State.OPEN, Deed.ADD_TIME): State.OPEN,
    (State.OPEN, Deed.CLOSE): State.CLOSED,
    (State.PAUSED, Deed.TURN_PLACE): State.PAUSED,
    (State.PAUSED, Deed.HAND_IN): State.HANDED_IN,
    (State.PAUSED, Deed.GO_ON): State.OPEN,
    (State.PAUSED, Deed.ADD_TIME): State.PAUSED,
    (State.PAUSED, Deed.CLOSE): State.CLOSED,
}

_WHY: dict[State, tuple[str, str]] = {
    State.LAID_OUT: ("it has not begun.", "Begin it first."),
    State.OPEN: ("it is running.", "Load the page again to see where it stands."),
    State.PAUSED: ("it is paused.", "Wait until the instructor lets it go on; the clock stands."),
    State.HANDED_IN: ("it was handed in.", "What was saved before that counts."),
    State.CLOSED: ("its time is over.", "What was saved before that counts."),
}


def may(state: State, deed: Deed) -> bool:
    return (state, deed) in AFTER


def after(state: State, deed: Deed) -> State:
    """Return the state that follows.

    >>> after(State.OPEN, Deed.HAND_IN)
    <State.HANDED_IN: 'handed in'>

    Raises:
        ConflictError: this cannot be done in that state; says why and what to do.
    """
    if not may(state, deed):
        why, remedy = _WHY[state]
        raise ConflictError(
            f"you cannot {deed.value} now: {why}",
            field="sitting",
            value=state.value,
            remedy=remedy,
        )
    return AFTER[state, deed]
