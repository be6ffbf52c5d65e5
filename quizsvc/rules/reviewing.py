"""The life of a hand-written item: who may bring a version from which state to which."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum

from quizsvc.errors import ConflictError, NotAllowedError


class ItemState(StrEnum):
    DRAFT = "draft"
    IN_REVIEW = "in review"
    APPROVED = "approved"
    WITHDRAWN = "withdrawn"


class Deed(StrEnum):
    """What is done to a version, as its history names it."""

    WRITTEN = "written"
    IMPORTED = "imported"
    SENT = "sent to review"
    RETURNED = "given back"
    APPROVED = "approved"
    WITHDRAWN = "withdrawn"
    COMMENTED = "commented"
    REMARKED = "answers marked again"


_STEPS: dict[Deed, tuple[frozenset[ItemState], ItemState]] = {
    Deed.SENT: (frozenset({ItemState.DRAFT}), ItemState.IN_REVIEW),
    Deed.RETURNED: (frozenset({ItemState.IN_REVIEW}), ItemState.DRAFT),
    Deed.APPROVED: (frozenset({ItemState.IN_REVIEW}), ItemState.APPROVED),
    Deed.WITHDRAWN: (
        frozenset({ItemState.DRAFT, ItemState.IN_REVIEW, ItemState.APPROVED}),
        ItemState.WITHDRAWN,
    ),
}


def state_after(deed: Deed, state: ItemState) -> ItemState:
    """Return the state a deed leads to.

    Raises:
        ConflictError: the version is not in a state from which the deed is done.

    >>> state_after(Deed.SENT, ItemState.DRAFT).value
    'in review'
    """
    before, after = _STEPS[deed]
    if state not in before:
        wanted = " or ".join(sorted(one.value for one in before))
        raise ConflictError(
            f"a version that is {state.value} can't be {deed.value}.",
            field="state",
            value=state.value,
            remedy=f"It has to be {wanted} first; load the page again to see how it stands.",
        )
    return after


def possible(state: ItemState) -> frozenset[Deed]:
    """Return what may be done to a version in this state, whoever does it."""
    return frozenset(deed for deed, (before, _) in _STEPS.items() if state in before)


def wrote(person_id: int, writers: Collection[int | None]) -> bool:
    """Return whether the person wrote any of what is to be approved."""
    return person_id in writers


def require_second_person(person_id: int, writers: Collection[int | None]) -> None:
    """Refuse approval by anybody who wrote a part of it since the last approval."""
    if wrote(person_id, writers):
        raise NotAllowedError(
            "whoever wrote an item doesn't approve it.",
            field="approved by",
            value="the author",
            remedy="Another instructor approves it; they find it under “in review”.",
        )
