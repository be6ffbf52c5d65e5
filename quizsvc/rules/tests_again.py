"""Finished tests marked again after a key was corrected: what may be done, by whom, what it turns.

Nobody's pass is taken back by the marking itself: a result that crosses the cut is put before
those who decide.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum

from quizsvc.errors import ConflictError, InputError, NotAllowedError

SHORTEST_REASON, LONGEST_REASON = 3, 300  # characters; the reason of a void question has the same


class Remedy(StrEnum):
    """What is done about a question whose key was wrong, for all who were asked it alike."""

    MARKED_AGAIN = "marked again"
    VOID = "void"


class Shift(StrEnum):
    """How a result crosses the cut."""

    FALLS = "pass becomes fail"
    RISES = "fail becomes pass"


@dataclass(frozen=True, slots=True)
class Result:
    """Points of a sitting; ``passed`` is None where no cut is set."""

    points: int
    out_of: int
    passed: bool | None = None


def shift(before: bool | None, after: bool | None) -> Shift | None:  # noqa: FBT001 - both passed
    """Return how a result crosses the cut, None if it does not or there is none.

    >>> shift(True, False)
    <Shift.FALLS: 'pass becomes fail'>
    >>> shift(True, None) is None
    True
    """
    if before is None or after is None or before == after:
        return None
    return Shift.RISES if after else Shift.FALLS


def remedies(*, has_key: bool) -> tuple[Remedy, ...]:
    """Return what can be done: without a version in use there is no key to mark by."""
    return (Remedy.MARKED_AGAIN, Remedy.VOID) if has_key else (Remedy.VOID,)


def require_not_concerned(actor_id: int, people: Collection[int]) -> None:
    """Refuse to mark again what is one's own: one treatment for all, chosen by nobody it helps."""
    if actor_id in people:
        raise NotAllowedError(
            "you sat one of these tests yourself.",
            field="person",
            value="yourself",
            remedy="Another instructor has to mark them again.",
        )


def require_possible(remedy: Remedy, *, has_key: bool) -> None:
    if remedy not in remedies(has_key=has_key):
        raise ConflictError(
            "there is no corrected key to mark by: no version of the item is in use.",
            field="remedy",
            value=remedy.value,
            remedy="Declare the question void, or approve a corrected version first.",
        )


def reason(words: str) -> str:
    """Return the reason in one line.

    Raises:
        InputError: there is none, or it is longer than anybody reads.
    """
    text = " ".join(words.split())
    if not SHORTEST_REASON <= len(text) <= LONGEST_REASON:
        raise InputError(
            f"a reason has from {SHORTEST_REASON} to {LONGEST_REASON} characters.",
            field="reason",
            value=text[:40],
            remedy="Say in a sentence what was wrong; the people concerned read it.",
        )
    return text
